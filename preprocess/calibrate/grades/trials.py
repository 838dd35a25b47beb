"""Trials: the graded coupons of a profile, each with its definition, to be fitted anew."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from preprocess.calibrate.grades.grade_table import read_grade_table
from preprocess.calibrate.grades.measured_tones import MeasuredTones, tones_of
from preprocess.coupon.design.model import CouponDefinition, Grade
from preprocess.coupon.paper.file_names import definitions_beside
from preprocess.errors import UserError, wrong
from preprocess.findings import Finding, note
from preprocess.loading.schema.value_reading import read_declared
from preprocess.loading.yaml.mapping import document_from_mapping
from preprocess.loading.yaml.yaml_document import load_yaml
from preprocess.marking.checks.profile_checks import another_filament, plain_name
from preprocess.model.bench.filament import Filament
from preprocess.model.declared import Declared, Doc
from preprocess.photo.measured_file import coupons_beside

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from preprocess.calibrate.grades.grade_table import GradeTable


@dataclass(frozen=True, slots=True, kw_only=True)
class CouponTrial(Declared):
    """One graded coupon, without its blank cells."""

    coupon: Annotated[str, Doc("id of the coupon")]
    graded: Annotated[str | None, Doc("day on which it was graded")] = None
    grades: Annotated[dict[str, tuple[Grade, ...]], Doc("grades of each cell, one for each judge")]
    tones: Annotated[MeasuredTones | None, Doc("what photos of it told")] = None
    definition: Annotated[CouponDefinition, Doc("what the coupon was")]


def trials_from_table(table: GradeTable, graded: str | None) -> tuple[CouponTrial, ...]:
    """The trials of a grade table; the definitions of its coupons lie beside it."""
    definitions = definitions_beside(Path(table.file))
    measured = coupons_beside(Path(table.file))
    return tuple(
        CouponTrial(
            coupon=coupon.id,
            graded=graded,
            grades={
                row.cell: tuple(grade for grade in row.grades if grade is not None)
                for row in table.rows
                if row.coupon == coupon.id and any(row.grades)
            },
            tones=tones_of(measured.get(coupon.id)),
            definition=definitions[coupon.id],
        )
        for coupon in table.coupons
    )


def read_profile(path: Path) -> tuple[Filament, tuple[CouponTrial, ...]]:
    """A filament's profile and the trials in it.

    Raises:
        UserError: every complaint, each with its place.
    """
    document = load_yaml(path)
    filament, complaints = read_declared(Filament, document)
    found, trials = list(complaints), []
    held: Any = document.data.get("trials")
    for number, data in enumerate(held if isinstance(held, list) else []):
        trial, more = read_declared(CouponTrial, document, ("trials", number), data)
        found += more
        trials += [trial] if trial else []
    if found or filament is None:
        raise UserError(found)
    return filament, tuple(trials)


def read_trials(filament: Filament | None) -> tuple[CouponTrial, ...]:
    """The trials that a loaded profile holds as plain data.

    Raises:
        UserError: they are damaged.
    """
    if filament is None:
        return ()
    document = document_from_mapping({"trials": list(filament.trials)}, filament.name)
    found = []
    for number, data in enumerate(filament.trials):
        trial, complaints = read_declared(CouponTrial, document, ("trials", number), data)
        if trial is None:
            raise UserError(complaints)
        found.append(trial)
    return tuple(found)


def merge_trials(
    old: Sequence[CouponTrial], new: Iterable[CouponTrial]
) -> tuple[tuple[CouponTrial, ...], tuple[str, ...]]:
    """Old and new trials; a coupon that is graded again replaces its old trial, and is named.

    Its tones stay where it was not measured again.
    """
    fresh = {trial.coupon: trial for trial in new}
    for trial in old:
        again = fresh.get(trial.coupon)
        if again is not None and again.tones is None:
            fresh[trial.coupon] = replace(again, tones=trial.tones)
    renewed = tuple(trial.coupon for trial in old if trial.coupon in fresh)
    kept = [fresh.pop(trial.coupon, trial) for trial in old]
    return (*kept, *fresh.values()), renewed


def collect_trials(
    tables: Sequence[Path], profile: Path, graded: str | None
) -> tuple[Filament | None, tuple[CouponTrial, ...], tuple[Finding, ...]]:
    """The filament of the profile, and its old and new trials.

    Raises:
        UserError: there are no grades, or a file is faulty.
    """
    known, old = read_profile(profile) if profile.exists() else (None, ())
    new = [
        trial for table in tables for trial in trials_from_table(read_grade_table(table), graded)
    ]
    if not new and not old:
        raise wrong("no grades are named", "name the grade tables (CSV) of coupons")
    trials, again = merge_trials(old, new)
    notes = [
        note("graded-again", f"{coupon} was graded before; these grades replace the old ones")
        for coupon in again
    ]
    return known, trials, (*notes, *_of_others(known, old, new))


def _of_others(
    known: Filament | None, old: Sequence[CouponTrial], new: Sequence[CouponTrial]
) -> Iterator[Finding]:
    """Warn of new coupons of a spool that neither the profile nor an earlier coupon names."""
    names = {
        plain_name(name) for name in (known.name if known else None, *map(_spool, old)) if name
    }
    for trial in new:
        spool = _spool(trial)
        if spool is None:
            continue
        if names and plain_name(spool) not in names:
            others = known.name if known else next(filter(None, map(_spool, new)))
            yield another_filament(f"{trial.coupon} is of {spool!r}, other grades of {others!r}")
        names.add(plain_name(spool))


def _spool(trial: CouponTrial) -> str | None:
    filament = trial.definition.filament
    return filament.name if filament else None
