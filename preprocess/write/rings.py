"""Rings and lines of a shape as they are written: shifted to the page, rounded, canonical."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiLineString, MultiPolygon

from preprocess.geometry.snap import on_grid, rounded

if TYPE_CHECKING:
    from shapely import LinearRing, Polygon

    from preprocess.model.artwork import Page
    from preprocess.model.shape import Shape

Points = NDArray[np.float64]
Geometry = TypeVar("Geometry", MultiPolygon, MultiLineString)


def area_rings(shape: Shape, page: Page, decimals: int) -> list[Points]:
    """Rings of an area and its bars, n×2 in page mm, last point not repeated.

    Outer rings run counter-clockwise as seen (y down), holes clockwise; each ring begins at its
    topmost (then leftmost) vertex; outer rings come in reading order, each before its holes.
    """
    polygons = [*shape.geometry.geoms, *(shape.bars.geoms if shape.bars is not None else ())]
    area = on_grid(_on_page(MultiPolygon(polygons), page), decimals)
    grouped = sorted((_rings_of(polygon) for polygon in area.geoms), key=lambda g: _order(g[0]))
    return [ring for rings in grouped for ring in rings]


def outlines(shape: Shape, page: Page, decimals: int) -> list[tuple[Points, bool]]:
    """Lines to trace, in order, as (points n×2 in page mm, closed); closed ones do not repeat.

    The outline of an area is traced ring by ring. Pieces without length on the grid are left out.
    """
    geometry = shape.geometry
    if shape.is_area:
        geometry = MultiLineString(list(shapely.get_rings(shapely.get_parts(geometry))))
    lines = [_line(line.coords, decimals) for line in _on_page(geometry, page).geoms]
    return [line for line in lines if line is not None]


def _on_page(geometry: Geometry, page: Page) -> Geometry:
    return shapely.transform(geometry, lambda points: points - (page.left, page.top))


def _line(coords: object, decimals: int) -> tuple[Points, bool] | None:
    points: Points = rounded(np.asarray(coords, dtype=np.float64), decimals)
    points = points[np.r_[True, np.any(np.diff(points, axis=0) != 0.0, axis=1)]]
    if len(points) < 2:  # noqa: PLR2004 - a single point has no length
        return None
    closed = len(points) > 3 and bool(np.all(points[0] == points[-1]))  # noqa: PLR2004 - triangle
    return (points[:-1], True) if closed else (points, False)


def _rings_of(polygon: Polygon) -> list[Points]:
    holes = [_ring(hole, seen_ccw=False) for hole in polygon.interiors]
    return [_ring(polygon.exterior, seen_ccw=True), *sorted(holes, key=_order)]


def _ring(ring: LinearRing, *, seen_ccw: bool) -> Points:
    points = np.asarray(ring.coords, dtype=np.float64)[:-1]
    # y runs down: counter-clockwise in the numbers is clockwise to the eye
    if bool(shapely.is_ccw(ring)) is seen_ccw:
        points = points[::-1]
    first = int(np.lexsort((points[:, 0], points[:, 1]))[0])
    return np.roll(points, -first, axis=0)


def _order(ring: Points) -> tuple[float, ...]:
    return tuple(ring[:2, ::-1].ravel().tolist())
