"""The objective: how even a job is by its worst places, likely and at worst; every command's judge.

The places are the hottest and the coldest connected 0.5 mm² over the median of the marked area.
First rows and row ends count as all others do. Largest over median would name single cells, and a
standard deviation forgives a burnt tip, since it is small.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol, TypeVar

import numpy as np

from preprocess.marking.evenness.cells import MarkedCells, marked_cells, only_cells
from preprocess.marking.evenness.connected import extreme_places
from preprocess.marking.evenness.seam import seam_step
from preprocess.marking.evenness.shared_area import in_both
from preprocess.marking.heat.effort import Effort
from preprocess.marking.heat.index import heat_index_of_plan
from preprocess.marking.heat.index_images import weighted_quantile
from preprocess.marking.job.plan import plan_of
from preprocess.marking.job.schedule import schedule_of
from preprocess.model.artwork.output import output_layers

if TYPE_CHECKING:
    from collections.abc import Iterable

    from preprocess.arrays import Floats
    from preprocess.marking.heat.index import HeatIndex
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.bench.bench import Bench
    from preprocess.model.bench.filament import Window

TOLERANCE = 0.1
"""Share by which a place may differ from the median before it counts as beyond."""

_LIKE = 5e-4
"""Differences below this rank nothing: they differ by processor and by column."""


@dataclass(frozen=True, slots=True, kw_only=True)
class EvennessFigures:
    """Evenness at one spread, or the worst of several.

    `hot` and `cold` are the hottest and the coldest place over the median. `beyond` is the share
    of the area more than 10 % off the median, `outside` that outside the filament's window (None
    without one). `seam` is the step across borders of rows as a share.
    """

    hot: float
    cold: float
    beyond: float
    seam: float
    outside: float | None = None

    @property
    def off(self) -> float:
        """Figure that ways are ranked by: the largest of the three, as a share."""
        return max(self.hot - 1, 1 - self.cold, self.seam)


@dataclass(frozen=True, slots=True, kw_only=True)
class Objective:
    """Evenness at the likely spread and each figure at its worst; `time` in s, colour `layers`."""

    likely: EvennessFigures
    worst: EvennessFigures
    time: float
    layers: int

    @property
    def key(self) -> tuple[float, float, float, float, int]:
        """For ranking, the least first."""
        off = round(self.likely.off / _LIKE), round(self.worst.off / _LIKE)
        return (*off, round(self.likely.beyond, 3), round(self.time, 2), self.layers)

    def more_even_than(self, other: Objective) -> bool:
        """True if it is more even at the likely spread, and no less at the worst."""
        return (
            self.likely.off < other.likely.off - _LIKE and self.worst.off <= other.worst.off + _LIKE
        )


class Judged(Protocol):
    """Something tried, with its objective; None where nothing is engraved on a part."""

    @property
    def objective(self) -> Objective | None:
        """How even it was."""


_J = TypeVar("_J", bound=Judged)


def evenness_rank(trial: Judged) -> tuple[float, ...]:
    """For ranking trials, the most even first."""
    return () if trial.objective is None else trial.objective.key


def more_even(trials: Iterable[_J], equal: _J) -> _J:
    """The most even of the trials that are more even than another; that one if none is."""
    return min((one for one in trials if _gains(one, equal)), key=evenness_rank, default=equal)


def _gains(one: Judged, other: Judged) -> bool:
    if one.objective is None or other.objective is None:
        return False
    return one.objective.more_even_than(other.objective)


def objective_of_artwork(
    artwork: Artwork, bench: Bench, *, effort: Effort = Effort.FULL
) -> Objective | None:
    """Judge artwork as it stands; None where nothing is engraved on a part."""
    machine = bench.machine_or_default
    plan = plan_of(artwork, machine)
    schedule = schedule_of(plan, machine)
    heat = heat_index_of_plan(plan, schedule, artwork, bench, effort=effort)
    return evenness_objective(heat, time=schedule.total, layers=len(output_layers(artwork)))


def evenness_objective(heat: HeatIndex, *, time: float, layers: int) -> Objective | None:
    """Judge a job from its heat index at all spreads; None where nothing is lit."""
    return _objective(marked_cells(heat.images), heat, (time, layers))


def objective_pair(
    before: HeatIndex, after: HeatIndex, *, times: tuple[float, float], layers: tuple[int, int]
) -> tuple[Objective | None, Objective | None]:
    """Judge a drawing and its output on the area that both mark."""
    was, now = marked_cells(before.images), marked_cells(after.images)
    if was is not None and now is not None:
        was, now = only_cells(was, in_both(was, now)), only_cells(now, in_both(now, was))
    return (
        _objective(was, before, (times[0], layers[0])),
        _objective(now, after, (times[1], layers[1])),
    )


def _objective(
    cells: MarkedCells | None, heat: HeatIndex, what: tuple[float, int]
) -> Objective | None:
    if cells is None:
        return None
    likely, worst = evenness_of_cells(cells, cells.index, heat.window if heat.calibrated else None)
    return Objective(likely=likely, worst=worst, time=what[0], layers=what[1])


def evenness_of_cells(
    cells: MarkedCells, index: Floats, window: Window | None
) -> tuple[EvennessFigures, EvennessFigures]:
    """Figures at the likely spread, and each at its worst.

    Args:
        cells: the cells.
        index: what takes the place of their own index, spreads × cells.
        window: of a graded filament.
    """
    figures = _figures(cells, index, window)
    outside = [one.outside for one in figures if one.outside is not None]
    worst = EvennessFigures(
        hot=max(one.hot for one in figures),
        cold=min(one.cold for one in figures),
        beyond=max(one.beyond for one in figures),
        seam=max(one.seam for one in figures),
        outside=max(outside, default=None),
    )
    return figures[0], worst


def figures_of_cells(cells: MarkedCells, index: Floats) -> EvennessFigures:
    """Judge cells by their index at one spread."""
    return _figures(cells, index[None], None)[0]


def _figures(cells: MarkedCells, index: Floats, window: Window | None) -> list[EvennessFigures]:
    """Judge cells at each spread; `window` is that of a graded filament."""
    seen = np.where(cells.sliver, 0.0, cells.weight)
    total = float(seen.sum()) or 1.0
    ratios = [one / weighted_quantile(one, cells.weight, 0.5) for one in index]
    ends = [(ratio, hot) for ratio in ratios for hot in (True, False)]
    places = [place.ratio for place in extreme_places(cells, ends)]

    def outside(one: Floats) -> float | None:
        if window is None:
            return None
        return float(seen[(one < window.weak) | (one > window.heavy)].sum()) / total

    return [
        EvennessFigures(
            hot=hot,
            cold=cold,
            beyond=float(seen[np.abs(ratio - 1) > TOLERANCE].sum()) / total,
            seam=seam_step(cells, ratio),
            outside=outside(one),
        )
        for one, ratio, hot, cold in zip(index, ratios, places[::2], places[1::2], strict=True)
    ]
