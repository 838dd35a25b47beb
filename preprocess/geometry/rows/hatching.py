"""Hatching: areas filled with straight rows, as lines in the order in which the beam takes them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.geometry.base.normalise import NO_LINES
from preprocess.geometry.base.row_frame import RowFrame, snap_to_rows
from preprocess.geometry.base.sweep import sweep_areas
from preprocess.geometry.offset.offset import shrink_area
from preprocess.geometry.overlay.booleans import intersection, union
from preprocess.geometry.overlay.components import groups_within
from preprocess.geometry.rows.edge_rows import rounds_by_edges
from preprocess.geometry.rows.rounds import round_of_rows

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import MultiLineString, MultiPolygon

    from preprocess.arrays import Booleans, Floats, Integers
    from preprocess.geometry.base.sweep import Runs


@dataclass(frozen=True, slots=True, kw_only=True)
class Hatching:
    """Rows at v = first + k · pitch, k < count, in the frame turned by `angle` (degrees, mm).

    Every `every`-th row comes first, then the others round by round, in the order of `round_order`.
    Two-way rows alternate from lit row to lit row. Each run goes on by `run_out` at both ends;
    runs that then meet join.
    """

    angle: float
    first: float
    pitch: float
    count: int
    every: int = 1
    two_way: bool = False
    run_out: float = 0.0

    @property
    def rows(self) -> Floats:
        """Coordinate v of every row, mm, ascending."""
        return np.asarray(self.first + self.pitch * np.arange(self.count), dtype=np.float64)


def hatch_areas(areas: Sequence[MultiPolygon], hatching: Hatching) -> list[MultiLineString]:
    """Hatch each area: its rows on the page, one line to each run, in marking order."""
    runs = _longer(sweep_areas(_in_row_frame(areas, hatching), hatching.rows), hatching.run_out)
    rounds = np.array(round_of_rows(hatching.every))[runs.row % hatching.every]
    return _lines(runs, rounds, hatching, len(areas))


def hatch_rounds(area: MultiPolygon, hatching: Hatching, colours: int) -> list[MultiLineString]:
    """Hatch an area: the rows of each round on the page, one line to each run, in marking order.

    Which rows go into which round depends on how many colours the rounds get.
    """
    runs = sweep_areas(_in_row_frame([area], hatching), hatching.rows)
    rounds = rounds_by_edges(runs, hatching.every, colours)[runs.row]
    return _lines(replace(runs, group=rounds), rounds, hatching, hatching.every)


def _lines(runs: Runs, rounds: Integers, hatching: Hatching, groups: int) -> list[MultiLineString]:
    order, back = _marking_order(runs, rounds, two_way=hatching.two_way)
    start, end = runs.start[order], runs.end[order]
    u = np.stack([np.where(back, end, start), np.where(back, start, end)], axis=1)
    v = hatching.rows[runs.row[order]][:, None]
    page = RowFrame(hatching.angle).to_xy(u, v)
    lines = shapely.linestrings(np.stack(page, axis=2))
    found = np.full(groups, NO_LINES, dtype=object)
    if len(lines):
        shapely.multilinestrings(lines, indices=runs.group[order], out=found)
    return list(found)


def inset_union(areas: Sequence[MultiPolygon], distance: float) -> list[MultiPolygon]:
    """Inset the union of areas by `distance` mm; where areas touch, nothing moves.

    So the rows of zones that tile an area go on from one zone to the next.
    """
    if not distance:
        return list(areas)
    found = list(areas)
    for near in groups_within(areas, 0.0):
        if len(near) == 1:
            found[near[0]] = shrink_area(areas[near[0]], distance)
            continue
        kept = shrink_area(union([areas[i] for i in near]), distance)
        for i in near:
            found[i] = intersection(areas[i], kept)
    return found


def _in_row_frame(areas: Sequence[MultiPolygon], hatching: Hatching) -> Sequence[MultiPolygon]:
    frame = RowFrame(hatching.angle)

    def turned(points: Floats) -> Floats:
        uv = np.stack(frame.to_uv(*points.T), axis=1)
        return snap_to_rows(uv, hatching.first, hatching.pitch, hatching.count)

    return shapely.transform(np.array(areas, dtype=object), turned)


def _longer(runs: Runs, run_out: float) -> Runs:
    if not run_out or not len(runs):
        return runs
    start, end = runs.start - run_out, runs.end + run_out
    same = (np.diff(runs.group) == 0) & (np.diff(runs.row) == 0)
    begins = np.concatenate([[True], ~same | (start[1:] > end[:-1])])
    ends = np.concatenate([begins[1:], [True]])
    return replace(
        runs, row=runs.row[begins], group=runs.group[begins], start=start[begins], end=end[ends]
    )


def _marking_order(runs: Runs, rounds: Integers, *, two_way: bool) -> tuple[Integers, Booleans]:
    """Indices of the runs as they are marked, and which of them run backwards."""
    order = np.lexsort((runs.start, runs.row, rounds, runs.group))
    row, group = runs.row[order], runs.group[order]
    other_area = np.diff(group, prepend=-1) != 0
    number = np.cumsum((np.diff(row, prepend=-1) != 0) | other_area)
    since = number - number[np.maximum.accumulate(np.where(other_area, np.arange(len(row)), 0))]
    back = (since % 2 == 1) & two_way
    start = runs.start[order]
    again = np.lexsort((np.where(back, -start, start), number))
    return order[again], back[again]
