"""Rings and lines of a shape as they are written: shifted to the page, rounded, canonical."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar

import numpy as np
import shapely
from shapely import MultiLineString, MultiPolygon

from preprocess.geometry.base.polylines import start_at_topmost
from preprocess.geometry.base.rounding import round_coordinates, snap_all_to_grid

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.arrays import Booleans, Geometries, Indices, Points
    from preprocess.model.artwork.artwork import Page
    from preprocess.model.artwork.shape import Shape

_Geometry = TypeVar("_Geometry", MultiPolygon, MultiLineString)


def area_rings(shapes: Sequence[Shape], page: Page, decimals: int) -> list[list[Points]]:
    """Rings of each area and its bars, n×2 in page mm, last point not repeated.

    Outer rings run counter-clockwise as seen (y down), holes clockwise; each ring begins at its
    topmost (then leftmost) vertex; outer rings come in reading order, each before its holes.
    """
    placed = [_on_page(_with_bars(shape), page) for shape in shapes]
    areas = snap_all_to_grid(placed, decimals)
    parts, shape_of = shapely.get_parts(areas, return_index=True)
    rings, owner = shapely.get_rings(parts, return_index=True)
    found: list[list[Points]] = [[] for _ in shapes]
    if not len(rings):
        return found
    hole = np.diff(owner, prepend=-1) == 0
    points, begins = _turned(rings, hole)
    order = _reading_order(points[begins], points[begins + 1], hole, shape_of[owner])
    ends = [*begins[1:].tolist(), len(points)]
    for number in order.tolist():
        found[shape_of[owner[number]]].append(points[begins[number] : ends[number]])
    return found


def _with_bars(shape: Shape) -> MultiPolygon:
    if shape.bars is None:
        return shape.geometry
    return MultiPolygon([*shape.geometry.geoms, *shape.bars.geoms])


def written_lines(shape: Shape, page: Page, decimals: int) -> list[tuple[Points, bool]]:
    """Lines to trace, in order, as (points n×2 in page mm, closed); closed ones do not repeat.

    The outline of an area is traced ring by ring. Pieces without length on the grid are left out.
    """
    geometry = shape.geometry
    if shape.is_area:
        geometry = MultiLineString(list(shapely.get_rings(shapely.get_parts(geometry))))
    lines = [_line(line.coords, decimals) for line in _on_page(geometry, page).geoms]
    return [line for line in lines if line is not None]


def _on_page(geometry: _Geometry, page: Page) -> _Geometry:
    return shapely.transform(geometry, lambda points: points - (page.left, page.top))


def _line(coords: object, decimals: int) -> tuple[Points, bool] | None:
    points: Points = round_coordinates(np.asarray(coords, dtype=np.float64), decimals)
    points = points[np.r_[True, np.any(np.diff(points, axis=0) != 0.0, axis=1)]]
    if len(points) < 2:  # noqa: PLR2004 - a single point has no length
        return None
    closed = len(points) > 3 and bool(np.all(points[0] == points[-1]))  # noqa: PLR2004 - triangle
    return (points[:-1], True) if closed else (points, False)


def _turned(rings: Geometries, hole: Booleans) -> tuple[Points, Indices]:
    """Vertices of all rings, turned the way they are to run, and where each ring begins."""
    # y runs down: counter-clockwise in the numbers is clockwise to the eye
    wrong = shapely.is_ccw(rings) != hole
    rings = np.where(wrong, shapely.reverse(rings), rings)
    points, ring = shapely.get_coordinates(rings, return_index=True)
    kept = np.append(ring[1:] == ring[:-1], [False])
    points, ring = points[kept], ring[kept]
    return start_at_topmost(points, ring), np.searchsorted(ring, np.arange(len(rings)))


def _reading_order(first: Points, second: Points, hole: Booleans, shape: Indices) -> Indices:
    """Rings of each shape by their first two points, row before column, holes after their outer."""
    keys = (second[:, 0], second[:, 1], first[:, 0], first[:, 1])
    outer = np.flatnonzero(~hole)
    rank = np.empty(len(outer), dtype=np.intp)
    rank[np.lexsort([key[outer] for key in keys])] = np.arange(len(outer))
    return np.lexsort((*keys, hole, rank[np.cumsum(~hole) - 1], shape))
