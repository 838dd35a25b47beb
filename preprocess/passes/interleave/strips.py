"""Strips of one row each, gathered into sets: every k-th strip makes up one set.

The sets tile the area. What no row lights joins a neighbour, so that each set begins at a height
from which its rows fall on the grid of the layer.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import MultiLineString, MultiPolygon

from preprocess.geometry.base.normalise import NOTHING, as_area
from preprocess.geometry.base.row_frame import RowFrame
from preprocess.geometry.overlay.partition import coverage_union, partition_area
from preprocess.geometry.rows.edge_rows import rounds_by_edges
from preprocess.passes.interleave.beginnings import beginnings

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.arrays import Booleans, Floats, Geometries, Indices, Integers
    from preprocess.passes.interleave.beginnings import Point
    from preprocess.passes.interleave.strip_grid import StripGrid

_TOUCHING = 1e-6
"""mm by which the upper end of a piece may miss the border that it reaches."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StripSets:
    """The area of each set and the bars of each, in marking order."""

    areas: tuple[MultiPolygon, ...]
    bars: tuple[MultiPolygon, ...]


@dataclass(frozen=True, slots=True, eq=False)
class _Pieces:
    """Pieces of area and of bars; the strip of each, and which of them are bars."""

    pieces: Geometries
    strip: Integers
    barred: Booleans


def strip_sets(
    area: MultiPolygon, bars: MultiPolygon, grid: StripGrid, rounds: int, colours: int
) -> StripSets:
    """Cut an area of the page, and the bars beside it, into sets of strips."""
    runs = grid.runs([area])
    sets = rounds_by_edges(runs, rounds, colours)
    sets = np.append(sets, np.full(grid.count - len(sets), sets[-1] if len(sets) else 0))
    points: tuple[Point, ...] = ()
    if grid.on_edge:
        points = beginnings(area, grid, np.unique(runs.row), sets)
    cut = _cut((area, bars), grid, points)
    owner = _owners(cut, grid, sets, [point.strip for point in points])
    home = owner == sets[cut.strip]
    home &= ~np.isin(cut.strip, [strip for p in points for strip in (p.strip, p.strip - 1)])
    found = [
        [
            _gathered(cut.pieces[mine], home[mine])
            for j in range(rounds)
            for mine in [which & (owner == j)]
        ]
        for which in (~cut.barred, cut.barred)
    ]
    return StripSets(areas=tuple(found[0]), bars=tuple(found[1]))


def _cut(both: Sequence[MultiPolygon], grid: StripGrid, points: Sequence[Point]) -> _Pieces:
    found = [_strips(both[0], grid, points), _strips(both[1], grid, ())]
    pieces = [piece for strips in found for area in strips.values() for piece in area.geoms]
    strip = [n for strips in found for n, area in strips.items() for _ in area.geoms]
    barred = [bool(n) for n, strips in enumerate(found) for a in strips.values() for _ in a.geoms]
    return _Pieces(np.array(pieces, dtype=object), np.array(strip), np.array(barred))


def _strips(
    area: MultiPolygon, grid: StripGrid, points: Sequence[Point]
) -> dict[int, MultiPolygon]:
    """The strips of an area by their number; a point belongs to the strip below it."""
    if area.is_empty:
        return {}
    borders = grid.borders
    left, top, right, bottom = RowFrame(grid.angle).to_rows(area).bounds
    level = [[(left - 1.0, v), (right + 1.0, v)] for v in borders.tolist() if top < v < bottom]
    across = RowFrame(grid.angle).to_page(MultiLineString(level))
    cuts = MultiLineString([*across.geoms, *(side for point in points for side in point.cuts)])
    triangles = np.array([point.triangle for point in points], dtype=object)

    def strip(places: Floats) -> Indices:
        number = np.searchsorted(borders, grid.v_of(places))
        place, inside = shapely.STRtree(triangles).query(
            shapely.points(places), predicate="intersects"
        )
        number[place] = np.array([point.strip for point in points], dtype=np.int64)[inside]
        return number

    return partition_area(area, cuts, strip)


def _owners(cut: _Pieces, grid: StripGrid, sets: Integers, begun: Sequence[int]) -> Integers:
    """The set of each piece, given that of each strip.

    Pieces without a row join the strip above where they touch it, else the strip below. What
    would lie above the beginning of its set joins that of the uppermost strip, whose rows are in
    line as well.
    """
    strip = cut.strip
    runs = grid.runs(cut.pieces)
    number, row = runs.group, runs.row
    marked = np.zeros(len(strip), dtype=bool)
    marked[number[row == strip[number]]] = True
    points, piece = shapely.get_coordinates(cut.pieces, return_index=True)
    top = np.full(len(strip), np.inf)
    np.minimum.at(top, piece, grid.v_of(points))
    reaches = top <= grid.first + grid.pitch * strip - grid.above + _TOUCHING
    good = np.isin(strip, begun) if grid.on_edge else marked
    heads = np.full(int(sets.max()) + 1, np.iinfo(np.int64).max)
    np.minimum.at(heads, sets[strip[good]], strip[good])
    heads[sets[0]] = -1
    wanted = np.clip(strip + np.where(marked, 0, np.where(reaches, -1, 1)), 0, len(sets) - 1)
    later = heads[sets[wanted]] < strip + marked
    return np.where((strip > 0) & later, sets[wanted], sets[0])


def _gathered(pieces: Geometries, home: Booleans) -> MultiPolygon:
    """Pieces of one set as an area; those that came from other strips may share edges."""
    if not len(pieces):
        return NOTHING
    return as_area(pieces) if home.all() else coverage_union(pieces)
