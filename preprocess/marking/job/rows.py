"""The lit runs of every row of a raster group."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.geometry.base.row_frame import RowFrame, snap_to_rows
from preprocess.geometry.base.sweep import NO_RUNS, RowGrids, Runs, sweep_area, sweep_points

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from shapely import MultiPolygon

    from preprocess.arrays import Floats, Integers
    from preprocess.marking.job.plan import RasterGroup

_POINTS_AT_ONCE = 100_000
"""Points of outlines that are swept together, so that memory stays small."""


@dataclass(frozen=True, slots=True)
class RowSpans:
    """One entry per lit row: its v, from the first to the last lit point, and its lit length (mm).

    `row` is the index of the row in its group.
    """

    v: Floats
    start: Floats
    end: Floats
    lit: Floats
    row: Integers

    def __len__(self) -> int:
        return len(self.v)

    @property
    def span(self) -> Floats:
        """Swept width of every lit row, blank gaps included (mm)."""
        return self.end - self.start


@dataclass(frozen=True, slots=True, eq=False)
class RowValues:
    """One value to each lit row; `row` is its number in the group."""

    row: Integers
    value: Floats


def row_runs(group: RasterGroup) -> Runs:
    """Lit runs of every row in the row frame (u in mm); rows without light are absent."""
    return runs_on_rows(group.area, group)


def runs_on_rows(area: MultiPolygon, group: RasterGroup) -> Runs:
    """Runs of any other area of the page (a silhouette, say) on the rows of a group."""
    rows = group.rows
    turned = RowFrame(group.angle).to_rows(area)
    if group.count == 0 or turned.is_empty:
        return sweep_area(turned, rows)

    def on_rows(points: Floats) -> Floats:
        return snap_to_rows(points, group.first, group.pitch, group.count)

    return sweep_area(shapely.transform(turned, on_rows), rows)


def runs_of_groups(groups: Sequence[RasterGroup]) -> list[Runs]:
    """Lit runs of many groups, the same as those of each, but swept together."""
    found: list[Runs] = []
    for some in _batches(groups):
        found.extend(_swept_together(some))
    return found


def _batches(groups: Sequence[RasterGroup]) -> Iterator[Sequence[RasterGroup]]:
    """Neighbouring groups that have few points together, or one that has many."""
    points = np.cumsum([shapely.get_num_coordinates(group.area) for group in groups])
    batch = points // _POINTS_AT_ONCE
    ends = [0, *(np.flatnonzero(np.diff(batch)) + 1).tolist(), len(groups)]
    return (groups[first:last] for first, last in pairwise(ends))


def _swept_together(groups: Sequence[RasterGroup]) -> list[Runs]:
    swept = [number for number, group in enumerate(groups) if group.count]
    some = [groups[number] for number in swept]
    counts = np.array([group.count for group in some], dtype=np.int64)
    pitch = np.array([group.pitch for group in some], dtype=float)
    rows = [group.rows for group in some]
    grids = RowGrids(
        np.concatenate([np.empty(0), *rows]), np.cumsum(counts) - counts, counts, pitch
    )
    areas = np.array([RowFrame(group.angle).to_rows(group.area) for group in some], dtype=object)
    parts, area_of = shapely.get_parts(areas, return_index=True)
    rings, part_of = shapely.get_rings(parts, return_index=True)
    points, ring_of = shapely.get_coordinates(rings, return_index=True)
    at = area_of[part_of[ring_of]]
    first = np.array([group.first for group in some], dtype=float)
    snapped = snap_to_rows(points, first[at], pitch[at], counts[at])
    runs = sweep_points(snapped, ring_of, at, grids)
    ends = np.searchsorted(runs.group, np.arange(len(some) + 1))
    found = [NO_RUNS] * len(groups)
    for number, begin, end in zip(swept, ends[:-1].tolist(), ends[1:].tolist(), strict=True):
        row, start, stop = runs.row[begin:end], runs.start[begin:end], runs.end[begin:end]
        found[number] = Runs(row, start, stop, np.zeros(len(row), np.int64))
    return found


def row_spans(group: RasterGroup) -> RowSpans:
    """The span and the lit length of every lit row."""
    return spans_of(row_runs(group), group.rows)


def spans_of(runs: Runs, rows: Floats) -> RowSpans:
    """Sum up the runs of each row."""
    row, first = np.unique(runs.row, return_index=True)
    if not len(row):
        return RowSpans(np.empty(0), np.empty(0), np.empty(0), np.empty(0), row)
    last = np.append(first[1:], len(runs.row)) - 1
    lit = np.add.reduceat(runs.end - runs.start, first)
    return RowSpans(rows[row], runs.start[first], runs.end[last], lit, row)


def return_times_of(rows_at: Floats, row: Integers | Floats) -> Floats:
    """Start to start of neighbouring rows; the last of a stretch takes that of the one before."""
    returns = np.full(len(rows_at), np.nan)
    neighbours = np.flatnonzero(np.diff(row) == 1)
    step = np.diff(rows_at)[neighbours]
    returns[neighbours + 1] = step
    returns[neighbours] = step
    return returns
