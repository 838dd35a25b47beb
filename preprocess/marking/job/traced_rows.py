"""Traced lines that make up dense rows: what hatching writes, found again in any drawing.

Lines of two points, parallel and side by side, one after another in the file. Each time that they
begin again from above is a round: interleaved rows have several, a cross has two of its own.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from preprocess.geometry.base.row_frame import RowFrame
from preprocess.geometry.base.sweep import Runs
from preprocess.marking.job.rows import return_times_of, spans_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    import shapely

    from preprocess.arrays import Booleans, Floats, Integers
    from preprocess.marking.job.plan import LineWork
    from preprocess.marking.job.rows import RowSpans


_LATERAL = 5e-4
"""mm by which the end of a line may lie off its direction: what the written grid can move it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Round:
    """Rows marked from above to below, in the row frame of `angle`; mm, s.

    `pitch` is the usual distance between them; `share` that of all rounds together over it, which
    `dense_rounds` finds out.
    `runs` and `entered` (s from the first light of the step) are sorted by row and place.
    """

    angle: float
    pitch: float
    share: float
    y: Floats
    forward: Booleans
    runs: Runs
    entered: Floats

    @property
    def spans(self) -> RowSpans:
        """The span and lit length of every row."""
        return spans_of(self.runs, self.y)

    @property
    def returns(self) -> Floats:
        """From the start of each row to that of the next, s; nan for a single row."""
        return return_times_of(self.at, np.rint((self.y - self.y[0]) / self.pitch))

    @property
    def two_way(self) -> bool:
        """True if rows alternate in direction."""
        return bool(self.forward.any() and not self.forward.all())

    @property
    def at(self) -> Floats:
        """Start of each row, s."""
        return np.minimum.reduceat(self.entered, np.flatnonzero(np.diff(self.runs.row, prepend=-1)))


def rounds_of(work: LineWork, entered: Floats) -> tuple[Round, ...]:
    """The parallel lines of a step as rounds, whether they lie dense or not.

    Args:
        work: the lines.
        entered: when the beam enters each line of some length, s.
    """
    lines = [line for line in work.lines.geoms if line.length > 0]
    return tuple(
        one
        for some in _parallel(lines)
        for one in _rounds(np.array([lines[i].coords for i in some]), entered[some])
    )


def _parallel(lines: list[shapely.LineString]) -> Iterator[Integers]:
    """Numbers of lines that follow one another and are straight and parallel."""
    along: tuple[float, float, float] | None = None
    some: list[int] = []
    for number, line in enumerate(lines):
        step = _step(line)
        if step is None or (along is not None and not _alike(along, step)):
            if some:
                yield np.array(some)
            some, along = [], None
        if step is not None:
            some.append(number)
            along = step if along is None or step[2] > along[2] else along
    if some:
        yield np.array(some)


def _step(line: shapely.LineString) -> tuple[float, float, float] | None:
    if len(line.coords) != 2:  # noqa: PLR2004 - a straight line has two ends
        return None
    (x0, y0), (x1, y1) = line.coords[0][:2], line.coords[1][:2]
    return x1 - x0, y1 - y0, line.length


def _alike(one: tuple[float, float, float], other: tuple[float, float, float]) -> bool:
    aside = abs(one[0] * other[1] - one[1] * other[0]) / max(one[2], other[2])
    return bool(aside <= _LATERAL)


def _rounds(ends: Floats, entered: Floats) -> Iterator[Round]:
    """Rounds among parallel lines (n × 2 ends × xy)."""
    way = ends[:, 1] - ends[:, 0]
    x, y = way[np.argmax(np.hypot(*way.T))]
    angle = round(float(np.degrees(np.arctan2(-y, x))), 4) % 180.0
    u, across = RowFrame(angle).to_uv(ends[:, :, 0], ends[:, :, 1])
    v = across.mean(axis=1)
    again = np.flatnonzero(np.diff(v) < -_LATERAL) + 1
    for some in np.split(np.arange(len(v)), again):
        one = _round(angle, u[some], v[some], entered[some])
        if one is not None:
            yield one


def _round(angle: float, u: Floats, v: Floats, entered: Floats) -> Round | None:
    row = np.cumsum(np.diff(v, prepend=v[0]) > _LATERAL)
    first = np.flatnonzero(np.diff(row, prepend=-1))
    places = v[first]
    forward = u[:, 1] > u[:, 0]
    if (forward != forward[first][row]).any():
        return None
    pitch = float(np.median(np.diff(places))) if len(places) > 1 else 1.0
    start, end = u.min(axis=1), u.max(axis=1)
    order = np.lexsort((start, row))
    nothing = np.zeros(len(row), np.int64)
    runs = Runs(row[order].astype(np.int64), start[order], end[order], nothing)
    return Round(
        angle=angle,
        pitch=pitch,
        share=1.0,
        y=places,
        forward=forward[first],
        runs=runs,
        entered=entered[order],
    )
