"""What the graded cells had: settings, row spans, how fine and how large their shapes were."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.coupon.artwork.build import build
from preprocess.coupon.paper.grading_order import HEAT_KINDS, cell_span
from preprocess.geometry.base.normalise import as_area
from preprocess.marking.checks.feature_size import finest_width, longest_side
from preprocess.model.bench.filament import Tried

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from shapely import MultiPolygon

    from preprocess.calibrate.fit.fit import FilamentFit
    from preprocess.calibrate.grades.trials import CouponTrial
    from preprocess.coupon.design.model import Cell

_BY_WIDTH = "tip", "line"
"""Lengths of cells that are graded for how fine they are, and for nothing else."""

_DIGITS = 3


def graded_range(fit: FilamentFit) -> Tried:
    """The least and the most of all cells that were graded, and of which spool they were."""
    cells = [one.cell for one in fit.sightings.all]
    drawn = list(_drawn(fit.trials))
    spans = [span for cell in cells if (span := cell_span(cell)) is not None]
    fine = [
        cell.size[name]
        for trial in fit.trials
        for cell in _graded(trial)
        for name in _BY_WIDTH
        if name in cell.size
    ]
    return Tried(
        power=_ends([cell.power for cell in cells]),
        speed=_ends([cell.speed for cell in cells]),
        pitch=_ends([cell.pitch for cell in cells]),
        span=_ends(spans),
        feature=_ends([*_measured(map(finest_width, drawn)), *fine]),
        size=_ends(_measured(map(longest_side, drawn))),
        filament=fit.known.name,
    )


def _graded(trial: CouponTrial) -> list[Cell]:
    return [cell for cell in build(trial.definition).cells if trial.grades.get(cell.name)]


def _drawn(trials: Sequence[CouponTrial]) -> Iterator[MultiPolygon]:
    """The areas of graded cells that tell of heat; those of equal size once."""
    seen: set[tuple[tuple[str, float], ...]] = set()
    for trial in trials:
        if trial.definition.kind not in HEAT_KINDS:
            continue
        shapes = {s.id: s.geometry for s in build(trial.definition).artwork.shapes}
        for cell in _graded(trial):
            size = tuple(sorted(cell.size.items()))
            if size not in seen:
                seen.add(size)
                yield as_area([shapes[name] for name in cell.shapes])


def _ends(values: Sequence[float]) -> tuple[float, float] | None:
    return (min(values), max(values)) if values else None


def _measured(values: Iterable[float]) -> list[float]:
    return [float(f"{value:.{_DIGITS}g}") for value in values]
