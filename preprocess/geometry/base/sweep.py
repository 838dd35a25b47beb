"""Row sweep: where straight rows cross closed contours, exactly, under either fill rule.

An edge table in array form: every edge is cut by the rows between its ends, the crossings are
sorted along each row, and the winding number is summed from left to right (the classic scan-line
fill). Rows are half-open: an edge owns its lower end and not its upper one, so that a vertex on a
row counts once and a point on the last edge belongs to no row.

It works on raw contours, before any polygon was built from them, and so is independent evidence
for unions and fill rules as well.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np
import shapely

from preprocess.geometry.base.ranges import expand_ranges

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import MultiPolygon, Polygon

    from preprocess.arrays import Floats, Integers


FillRule = Literal["nonzero", "evenodd"]


@dataclass(frozen=True, slots=True)
class Runs:
    """Lit runs in order of (group, row, start); one entry each, lengths in mm.

    `row` counts the rows that were given; `group` is 0 unless groups were asked for. Runs of one
    row neither overlap nor touch, and none is of zero length.
    """

    row: Integers
    start: Floats
    end: Floats
    group: Integers

    def __len__(self) -> int:
        return len(self.row)


@dataclass(frozen=True, slots=True)
class RowGrids:
    """Rows of many grids, one grid after another: the v of each, equally spaced in its grid (mm).

    `begin` is the number of the first row of each grid, `count` how many it has (at least one).
    """

    rows: Floats
    begin: Integers
    count: Integers
    pitch: Floats

    def first_rows_from(self, y: Floats, at: Integers) -> Integers:
        """Number of the first row at or below each y in its grid; that after the last if none."""
        begin, count, rows = self.begin[at], self.count[at], self.rows
        guess = np.ceil(np.clip((y - rows[begin]) / self.pitch[at], 0.0, count)).astype(np.int64)
        guess = np.clip(guess, 0, count)
        while True:
            low = (guess > 0) & (rows[begin + np.maximum(guess - 1, 0)] >= y)
            high = (guess < count) & (rows[begin + np.minimum(guess, count - 1)] < y)
            if not (low | high).any():
                return np.asarray(begin + guess)
            guess = guess + high - low


def sweep_contours(
    contours: Sequence[Floats], rule: FillRule, rows: Floats, groups: Sequence[int] | None = None
) -> Runs:
    """Cut closed contours by rows of constant y.

    Args:
        contours: N × 2 points each, mm; closed whether or not the last point repeats the first.
        rule: SVG's fill rule, applied to all contours of a group together.
        rows: y of the rows in mm, ascending; spacing may vary.
        groups: group of each contour (from 0); groups are filled independently in one pass.
    """
    rings = [np.asarray(contour, dtype=float).reshape(-1, 2) for contour in contours]
    rings = [np.vstack([ring, ring[:1]]) for ring in rings]
    points = np.concatenate(rings) if rings else np.empty((0, 2))
    ring_of = np.repeat(np.arange(len(rings)), [len(ring) for ring in rings])
    group_of = np.zeros(len(rings), np.int64) if groups is None else np.asarray(groups, np.int64)
    return _sweep(points, ring_of, group_of, rule, np.asarray(rows, dtype=float))


def sweep_area(area: MultiPolygon | Polygon, rows: Floats) -> Runs:
    """Cut a valid area, already turned into the row frame, by rows of constant v (mm)."""
    return sweep_areas([area], rows)


def sweep_areas(areas: Sequence[MultiPolygon | Polygon], rows: Floats) -> Runs:
    """Cut many valid areas in one pass; `Runs.group` is the index of the area."""
    parts, area_of = shapely.get_parts(np.asarray(areas, dtype=object), return_index=True)
    rings, part_of = shapely.get_rings(parts, return_index=True)
    points, ring_of = shapely.get_coordinates(rings, return_index=True)
    return _sweep(points, ring_of, area_of[part_of], "evenodd", np.asarray(rows, dtype=float))


def sweep_points(points: Floats, ring_of: Integers, at: Integers, grids: RowGrids) -> Runs:
    """Cut the rings of many valid areas, each by rows of its own; `Runs.group` is the grid.

    Args:
        points: N × 2 in the row frame, mm; each ring repeats its first point.
        ring_of: ring of each point, ascending.
        at: number of the grid that each point is cut by.
        grids: the rows of each area.
    """
    first = grids.first_rows_from(points[:, 1], at)
    _, row, x, turn = _crossings(points, ring_of, grids.rows, first)
    row, start, end = _filled(row, x, turn, "evenodd")
    grid = np.searchsorted(grids.begin, row, side="right") - 1
    return Runs(row - grids.begin[grid], start, end, grid)


def rings_of(area: MultiPolygon | Polygon) -> list[Floats]:
    """All rings of an area as N × 2 points, shells and holes alike; the first point repeats."""
    return [shapely.get_coordinates(ring) for ring in shapely.get_rings(shapely.get_parts(area))]


def _sweep(
    points: Floats, ring_of: Integers, group_of: Integers, rule: FillRule, rows: Floats
) -> Runs:
    edge, row, x, turn = _crossings(points, ring_of, rows, _first_row_from(points[:, 1], rows))
    key = group_of[ring_of[edge]] * len(rows) + row
    key, start, end = _filled(key, x, turn, rule)
    return Runs(key % len(rows), start, end, key // len(rows)) if len(rows) else NO_RUNS


def _filled(
    key: Integers, x: Floats, turn: Integers, rule: FillRule
) -> tuple[Integers, Floats, Floats]:
    """Runs between the crossings that share a key: key, start, end, in this order."""
    order = np.lexsort((x, key))
    key, x = key[order], x[order]
    winding = np.cumsum(turn[order])
    lit = winding != 0 if rule == "nonzero" else winding % 2 != 0
    before = np.concatenate([[False], lit[:-1]]) if len(lit) else lit
    begins, ends = lit & ~before, before & ~lit
    return _joined(key[begins], x[begins], x[ends])


def _crossings(
    points: Floats, ring_of: Integers, rows: Floats, first: Integers
) -> tuple[Integers, Integers, Floats, Integers]:
    """Every crossing of an edge with a row: edge, row, x, and +1 downwards or −1 upwards.

    `first` is the first row at or below each point.
    The x is reckoned from the upper end whichever way the edge runs, so that two shapes which
    share an edge share its crossings bit for bit.
    """
    same = ring_of[:-1] == ring_of[1:]
    edges = np.flatnonzero(same & (first[:-1] != first[1:]))
    down = first[edges] < first[edges + 1]
    top, bottom = np.where(down, edges, edges + 1), np.where(down, edges + 1, edges)
    owner, row = expand_ranges(first[top], first[bottom])
    x0, y0 = points[top, 0], points[top, 1]
    slope = (points[bottom, 0] - x0) / (points[bottom, 1] - y0)
    x = x0[owner] + (rows[row] - y0[owner]) * slope[owner]
    low = np.minimum(x0, points[bottom, 0])[owner]
    high = np.maximum(x0, points[bottom, 0])[owner]
    return edges[owner], row, np.clip(x, low, high), np.where(down, 1, -1)[owner]


def _first_row_from(y: Floats, rows: Floats) -> Integers:
    """Index of the first row at or below each y: searchsorted, guessed first for equal spacing."""
    if len(rows) < 2 or not rows[-1] > rows[0]:  # noqa: PLR2004 - no spacing to guess from
        return np.searchsorted(rows, y, side="left")
    step = (rows[-1] - rows[0]) / (len(rows) - 1)
    guess = np.ceil(np.clip((y - rows[0]) / step, -1.0, len(rows) + 1.0)).astype(np.int64)
    guess = np.clip(guess, 0, len(rows))
    fence = np.concatenate([[-np.inf], rows, [np.inf]])
    wrong = (fence[guess] >= y) | (fence[guess + 1] < y)
    if wrong.any():
        guess[wrong] = np.searchsorted(rows, y[wrong], side="left")
    return guess


def _joined(key: Integers, start: Floats, end: Floats) -> tuple[Integers, Floats, Floats]:
    """Join runs that touch, drop those of zero length."""
    longer = end > start
    key, start, end = key[longer], start[longer], end[longer]
    apart = np.ones(len(key), bool)
    apart[1:] = (key[1:] != key[:-1]) | (start[1:] > end[:-1])
    last = np.concatenate([apart[1:], [True]]) if len(key) else apart
    return key[apart], start[apart], end[last]


NO_RUNS = Runs(np.empty(0, np.int64), np.empty(0), np.empty(0), np.empty(0, np.int64))
