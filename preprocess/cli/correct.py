"""``evenmark correct``: the next recipe, from a marked part that was measured."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from preprocess.cli import files, jobs, show, waiting
from preprocess.cli.options import (
    YAML,
    AsJson,
    Changes,
    Quiet,
    RecipeArgument,
    Verbose,
    option,
    output,
)
from preprocess.errors import Exit, Place, wrong
from preprocess.units import digits, signed

if TYPE_CHECKING:
    from preprocess.cli.jobs import Job
    from preprocess.correction.correct import Correction
    from preprocess.correction.solved_anew import SolvedAnew
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.photo.measured import MeasuredJob
    from preprocess.pipeline import Conversion

_SIMULATED = 20 * waiting.SIMULATION
"""Predictions of heat that a recipe solved anew takes: at nine spreads, and for its powers."""


def correct(
    recipe: RecipeArgument = None,
    measured: Annotated[
        str,
        typer.Argument(
            metavar="MEASURED",
            help="what evenmark measure wrote of the marked part (.measured.json)",
            show_default=False,
        ),
    ] = "",
    *,
    out: Annotated[
        str,
        output("the next recipe (YAML), beside this one", "--out", "-o", endings=YAML),
    ] = "",
    record: Annotated[str, option("folder of the record: the marked job gets a line more")] = "",
    changes: Changes = [],  # noqa: B006 - typer wants a list, and nobody changes it
    quiet: Quiet = False,
    verbose: Verbose = False,
    json: AsJson = False,
) -> None:
    """Write the next recipe by what a marked part told.

    A recipe that solves its powers is solved anew at the spread of heat that the part shows; others
    get powers moved by what was measured. Only what heat did is corrected, by at most a factor of
    1.4, and at most twice. Mark the next part on scrap first.
    """
    if not measured:
        raise typer.BadParameter("name what evenmark measure wrote (.measured.json)")
    job = jobs.open_job(recipe, None, changes, quiet=quiet or json)
    target = Path(out) if out else _beside(job)
    files.check_outputs([str(target)], [*job.inputs, Path(measured)])
    held = _measured(Path(measured))
    result = files.convert_drawing(job.loaded, job.drawing, quiet=quiet or json)
    if result.data is None:
        show.print_findings(result.findings, as_json=json, quiet=True)
        raise typer.Exit(Exit.USER)
    _expect_same(job, result, held, measured)
    with waiting.progress_in_slots([_SIMULATED], "next recipe", quiet=quiet or json):
        found = _corrected(job, result, held, measured)
    show.print_findings(found.findings, as_json=json, quiet=quiet, verbose=verbose)
    if json:
        show.print_result("correction", _data(found))
    elif not quiet:
        _tell(found)
    written = _next(job, held, found, result, target, measured)
    if record:
        written.append(_chained(Path(record), held, measured, target, written[0][1]))
    files.write_outputs(written, as_json=json, quiet=quiet)


def _beside(job: Job) -> Path:
    """Path of the next recipe where none is named."""
    if job.path is None:
        raise wrong("no output is named", "name one, such as -o next.yaml")
    return job.path.with_name(f"{job.path.stem}-next.yaml")


def _measured(path: Path) -> MeasuredJob:
    from preprocess.photo.measured import MeasuredJob
    from preprocess.photo.measured_file import read_measured

    held = read_measured(path)
    if not isinstance(held, MeasuredJob):
        found, remedy = "this is a coupon, not a marked part", "use evenmark fit for its tones"
        raise wrong(found, remedy, place=Place(str(path)))
    return held


def _expect_same(job: Job, result: Conversion, held: MeasuredJob, measured: str) -> None:
    """Refuse a map of another drawing, and a third correction."""
    from preprocess.correction.correct import MOST_CORRECTIONS

    if result.digest != held.drawing:
        raise wrong(
            f"{job.named} writes another drawing today than the one that was photographed",
            "name the recipe that the part was marked from, or measure the photo again",
            place=Place(measured),
        )
    rounds = job.loaded.recipe.corrections
    if rounds >= MOST_CORRECTIONS:
        raise wrong(
            f"this recipe was corrected {rounds} times already, and what is left is noise",
            "grade the part; for more, fit a blades coupon and solve the powers anew",
            place=Place(job.named),
        )


def _corrected(
    job: Job, result: Conversion, held: MeasuredJob, measured: str
) -> Correction | SolvedAnew:
    """What the map asks for."""
    from preprocess.calibrate.grades.trials import read_trials
    from preprocess.correction.choice import SOLVING_STEPS, corrected_job

    def at_spread(spread: float, interval: tuple[float, float]) -> Artwork:
        return _at_spread(job, spread, interval)

    solves = any(step.name in SOLVING_STEPS for step in job.loaded.steps)
    trials = read_trials(job.loaded.filament)
    with files.refusal_as_error(measured):
        return corrected_job(
            held, result.after, result.bench, at_spread if solves else None, trials
        )


def _at_spread(job: Job, spread: float, interval: tuple[float, float]) -> Artwork:
    """The drawing as the recipe marks it on a filament of another spread (mm).

    Raises:
        Refusal: the recipe cannot be carried out with it.
    """
    from dataclasses import replace

    from preprocess.errors import Refusal
    from preprocess.model.bench.filament import Filament, Intervals

    known = job.loaded.filament or Filament(name="not named")
    sure = replace(known.intervals or Intervals(), spread=interval)
    loaded = replace(job.loaded, filament=replace(known, spread=spread, intervals=sure))
    result = files.convert_drawing(loaded, job.drawing, quiet=True)
    if result.data is None:
        raise Refusal(
            f"the recipe cannot be carried out for a spread of {digits(spread)} mm",
            "run evenmark check on it with that spread in its filament",
        )
    return result.after


def _next(
    job: Job,
    held: MeasuredJob,
    found: Correction | SolvedAnew,
    result: Conversion,
    target: Path,
    measured: str,
) -> list[tuple[str, bytes]]:
    """The next recipe with its path, and the next filament, if it has a file."""
    from preprocess.correction.next_recipe import next_recipe, next_solved
    from preprocess.correction.solved_anew import SolvedAnew
    from preprocess.loading.yaml.yaml_document import parse_yaml

    photos = ", ".join(photo.name for photo in held.photos) or "no photo"
    head = (
        f"Corrected by evenmark correct from {job.drawing.title}: {Path(measured).name}, "
        f"{photos}.\nMark it on scrap first; a corrected power can be too much. The machine's "
        "manual and local codes decide."
    )
    data = parse_yaml(job.text, job.named).data
    if not isinstance(found, SolvedAnew):
        with files.refusal_as_error(job.named):
            shares = found.shares(result.after)
        return [(str(target), next_recipe(data, shares, head))]
    beside = target.with_name(f"{target.stem}.filament.yaml")
    filament = job.loaded.as_run.get("filament", {"name": "not named"})
    recipe, own = next_solved(data, filament, (found.spread, found.interval), (beside.name, head))
    return [(str(target), recipe), *([(str(beside), own)] if own is not None else [])]


def _chained(
    folder: Path, held: MeasuredJob, measured: str, target: Path, data: bytes
) -> tuple[str, bytes]:
    """The record's entry of the marked job with photo, map and next recipe."""
    from preprocess.record.entry import Outcome
    from preprocess.record.folder import read_entries, with_outcome
    from preprocess.write.digest import sha256_hex

    known = read_entries(folder)
    mine = [(path, one) for path, one in known.items() if one.svg_sha256 == held.drawing]
    if not mine:
        raise wrong(
            "the record has no entry of the drawing that was photographed",
            "leave --record out, or name the folder that run --record wrote to",
            place=Place(str(folder)),
        )
    path, entry = mine[-1]
    outcome = Outcome(
        photos={photo.name: photo.digest for photo in held.photos} or None,
        measured=Path(measured).name,
        next_recipe=target.name,
        next_sha256=sha256_hex(data),
    )
    return str(path), with_outcome(path, entry, outcome)


def _tell(found: Correction | SolvedAnew) -> None:
    from preprocess.correction.solved_anew import SolvedAnew

    for sentence in found.causes.sentences:
        show.print_paragraph(sentence)
    if isinstance(found, SolvedAnew):
        show.print_paragraph(
            f"The part shows heat that spreads over {digits(found.learned.shown, 2)} mm, where the "
            f"recipe believed {digits(found.learned.believed, 2)} mm. The next recipe is solved "
            f"for {digits(found.spread)} mm."
        )
        names = dict.fromkeys([*found.was, *found.now])
        rows = [(n, _range(found.was.get(n)), _range(found.now.get(n))) for n in names]
        show.print_table(("colour", "power", "next"), rows)
    else:
        show.print_table(
            ("colour", "heat adds", "power", "next"),
            [
                (
                    moved.layer.output.id,
                    f"{signed(moved.layer.tone)} ΔL*",
                    _range((moved.was, moved.was)),
                    _range((moved.now, moved.now)),
                )
                for moved in found.powers
            ],
        )
    show.print_paragraph(
        f"Heat's share of the unevenness should fall from {found.before:.1f} to {found.after:.1f} "
        "ΔL*. This is a prediction: mark the next part on scrap first, with extraction on, and "
        "stay with the machine; its manual and local codes decide."
    )


def _range(powers: tuple[float, float] | None) -> str:
    """A power, or the range of greys, in per cent; a dash where the colour is missing."""
    if powers is None:
        return "–"
    low, high = (digits(100 * power, 4) for power in powers)
    return f"{low} %" if low == high else f"{low} to {high} %"


def _data(found: Correction | SolvedAnew) -> dict[str, object]:
    """Figures of a correction, for scripts."""
    from preprocess.correction.solved_anew import SolvedAnew

    data: dict[str, object] = {
        "causes": {name: round(loss, 3) for name, loss in found.causes.parts.items()},
        "sentences": list(found.causes.sentences),
    }
    if isinstance(found, SolvedAnew):
        data |= {
            "spread": {
                "believed": round(found.learned.believed, 4),
                "shown": round(found.learned.shown, 4),
                "next": round(found.spread, 4),
                "interval": [round(end, 4) for end in found.interval],
            },
            "powers": [{"layer": name, "next": list(found.now[name])} for name in found.now],
        }
    else:
        data["powers"] = [
            {
                "layer": moved.layer.output.id,
                "tone": round(moved.layer.tone, 3),
                "power": round(moved.was, 6),
                "next": round(moved.now, 6),
            }
            for moved in found.powers
        ]
    return data | {"before": round(found.before, 3), "after": round(found.after, 3)}
