"""Times of one step of the plan, once through: its rows, the gaps inside them, the ways between."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import partial
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.geometry.base.row_frame import RowFrame
from preprocess.marking.job.plan import RasterGroup
from preprocess.marking.job.rows import RowSpans, return_times_of, row_runs, spans_of
from preprocess.marking.job.traced_rows import Round, rounds_of
from preprocess.model.artwork.settings import Direction

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.arrays import Booleans, Floats, Integers
    from preprocess.geometry.base.sweep import Runs
    from preprocess.marking.job.plan import LineWork
    from preprocess.marking.machine.motion import Motion


_EMPTY = partial(np.empty, 0)


def _no_spans() -> RowSpans:
    return RowSpans(_EMPTY(), _EMPTY(), _EMPTY(), _EMPTY(), np.empty(0, np.int64))


@dataclass(frozen=True, slots=True, kw_only=True)
class TimedStep:
    """Rows (or lines) of one step; times in s from the first point of light, lengths in mm.

    `rows_at` is when each lit row begins, `returns` the time until the beam is back on the
    neighbouring row (start to start; the last row of a stretch takes that of the row before it,
    nan where there is no neighbour). `runs_at` is when each run (or line) is entered; `forward`
    says which rows run towards rising u. `entered_at` and
    `left_at` are the first and last points of light on the page. Of lines that make up rows,
    `rounds` are those rows, and `spans` and `returns` are of all rounds one after another.
    """

    speed: float
    lasts: float
    marked: float
    entered_at: tuple[float, float]
    left_at: tuple[float, float]
    spans: RowSpans = field(default_factory=_no_spans)
    rows_at: Floats = field(default_factory=_EMPTY)
    returns: Floats = field(default_factory=_EMPTY)
    forward: Booleans = field(default_factory=lambda: np.empty(0, np.bool_))
    runs: Runs | None = None
    runs_at: Floats = field(default_factory=_EMPTY)
    rounds: tuple[Round, ...] = ()

    def with_rounds(self, rounds: tuple[Round, ...]) -> TimedStep:
        """The same lines, of which some make up rows."""
        if not rounds:
            return replace(self, rounds=())
        return replace(self, rounds=rounds, spans=_joined(rounds), returns=_returns(rounds))

    def of_round(self, number: int) -> TimedStep:
        """The same with the rows of one round only; as it is where there are no rounds."""
        if not self.rounds:
            return self
        one = self.rounds[number]
        return replace(self, spans=one.spans, returns=one.returns)


def timed_step(
    step: RasterGroup | LineWork, motion: Motion, runs: Runs | None = None
) -> TimedStep | None:
    """Time a step that has a speed; None if nothing of it is lit.

    `runs` are those of the step's rows where they are known already.
    """
    if isinstance(step, RasterGroup):
        return _swept(step, motion, row_runs(step) if runs is None else runs)
    return _traced(step, motion)


def _swept(group: RasterGroup, motion: Motion, runs: Runs) -> TimedStep | None:
    speed = group.settings.speed or 0.0
    spans = spans_of(runs, group.rows)
    if not len(spans):
        return None
    gap_speed = motion.across_gaps(speed)
    lasting = spans.lit / speed + (spans.span - spans.lit) / gap_speed
    direction = group.settings.direction
    dark = motion.between_rows(speed, spans.span, direction)
    rows_at = np.concatenate([[0.0], np.cumsum(lasting + dark)[:-1]])
    number = np.arange(len(spans))
    forward = (number % 2 == 0) | (direction is not Direction.TWO_WAY)
    row_of_run = np.searchsorted(spans.row, runs.row)
    ahead = _ahead(runs, spans, row_of_run, forward, (speed, gap_speed))
    frame, last = RowFrame(group.angle), spans.end if forward[-1] else spans.start
    return TimedStep(
        speed=speed,
        lasts=float(rows_at[-1] + lasting[-1]),
        marked=float(spans.lit.sum()),
        entered_at=frame.to_xy(float(spans.start[0]), float(spans.v[0])),
        left_at=frame.to_xy(float(last[-1]), float(spans.v[-1])),
        spans=spans,
        rows_at=rows_at,
        returns=return_times_of(rows_at, spans.row),
        forward=forward,
        runs=runs,
        runs_at=rows_at[row_of_run] + ahead,
    )


def _ahead(
    runs: Runs,
    spans: RowSpans,
    row_of_run: Integers,
    forward: Booleans,
    speeds: tuple[float, float],
) -> Floats:
    """Seconds from the start of its row until each run is entered."""
    speed, gap_speed = speeds
    lit = np.cumsum(runs.end - runs.start) - (runs.end - runs.start)
    lit -= lit[np.searchsorted(row_of_run, np.arange(len(spans)))][row_of_run]
    to_start = runs.start - spans.start[row_of_run]
    after = spans.lit[row_of_run] - lit - (runs.end - runs.start)
    to_end = spans.end[row_of_run] - runs.end
    lit_before = np.where(forward[row_of_run], lit, after)
    way_before = np.where(forward[row_of_run], to_start, to_end)
    return lit_before / speed + (way_before - lit_before) / gap_speed


def _traced(work: LineWork, motion: Motion) -> TimedStep | None:
    speed = work.settings.speed or 0.0
    lines = [line for line in work.lines.geoms if line.length > 0]
    if not lines:
        return None
    length = float(work.lines.length)
    ends = [(shapely.get_point(line, 0), shapely.get_point(line, -1)) for line in lines]
    ways = [float(one[1].distance(two[0])) for one, two in pairwise(ends)]
    dark = [motion.hop(way, speed, speed) for way in ways]
    lit = [line.length / speed for line in lines]
    entered = np.cumsum([0.0, *(a + b for a, b in zip(lit, dark, strict=False))])
    first, last = ends[0][0], ends[-1][1]
    return TimedStep(
        speed=speed,
        lasts=length / speed + sum(dark),
        marked=length,
        entered_at=(first.x, first.y),
        left_at=(last.x, last.y),
        runs_at=entered,
        rounds=rounds_of(work, entered),
    )


def _joined(rounds: Sequence[Round]) -> RowSpans:
    """Rows of all rounds, numbered through."""
    every = [one.spans for one in rounds]
    return RowSpans(
        v=np.concatenate([one.v for one in every]),
        start=np.concatenate([one.start for one in every]),
        end=np.concatenate([one.end for one in every]),
        lit=np.concatenate([one.lit for one in every]),
        row=np.arange(sum(map(len, every))),
    )


def _returns(rounds: Sequence[Round]) -> Floats:
    return np.concatenate([one.returns for one in rounds])
