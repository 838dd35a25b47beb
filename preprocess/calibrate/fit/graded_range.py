"""The graded range: least and most setting, row span, feature and size of the graded cells."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.coupon.artwork.build import build
from preprocess.coupon.paper.grading_order import HEAT_KINDS, cell_span
from preprocess.geometry.base.normalise import as_area
from preprocess.geometry.offset.feature_size import finest_width, longest_side
from preprocess.model.bench.filament import Tried

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from shapely import MultiPolygon

    from preprocess.calibrate.fit.fit import FilamentFit
    from preprocess.calibrate.grades.trials import CouponTrial
    from preprocess.coupon.design.model import Cell

_BY_WIDTH = "tip", "line"
"""Lengths of cells that are graded for their fineness only."""

_DIGITS = 3


def graded_range(fit: FilamentFit) -> Tried:
    """Least and most of all graded cells, and the name of their spool."""
    cells = [one.cell for one in fit.observations.all]
    drawn = list(_drawn(fit.trials))
    spans = [span for cell in cells if (span := cell_span(cell)) is not None]
    sizes = [cell.size for trial in fit.trials for cell in _graded(trial)]
    fine = [size[name] for size in sizes for name in _BY_WIDTH if name in size]
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
    """Areas of cells graded by heat, each size once."""
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
