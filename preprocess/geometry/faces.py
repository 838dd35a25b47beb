"""Contours that may cross anything: the faces they cut the plane into, and how they wind there.

Winding numbers come from the raw contours, because noding merges edges that are traced twice.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import GEOSException, MultiPolygon

from preprocess.geometry import clipper
from preprocess.geometry.parts import NOTHING, as_area
from preprocess.geometry.ranges import spread

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    from preprocess.geometry.clipper import Rule

    Floats = NDArray[np.float64]
    Ints = NDArray[np.intp]

GRID = 1e-6
_MOST_CROSSINGS = 500_000


def filled(contours: Sequence[Floats], rule: Rule) -> MultiPolygon:
    """The area that contours (N x 2 each, implicitly closed) fill; they may cross anything.

    Noding by GEOS, first exact, then on a grid of 1e-6 mm; if both fail, Clipper on that grid.
    """
    points, ring = _closed(contours)
    lines = shapely.multilinestrings(shapely.linestrings(points, indices=ring))
    for grid in (None, GRID):
        try:
            return _by_winding(shapely.union_all([lines], grid_size=grid), contours, rule)
        except GEOSException:
            continue
    return clipper.filled(contours, rule)


def winding(points: Floats, contours: Sequence[Floats]) -> Ints:
    """How often all contours together wind around each of the points (n x 2)."""
    order = np.argsort(points[:, 1], kind="stable")
    x, y = points[order].T.copy()
    total = np.zeros(len(points))
    for (x0, y0, dx, dy), edge, point in _beside(contours, y):
        side = dx[edge] * (y[point] - y0[edge]) - (x[point] - x0[edge]) * dy[edge]
        turn = np.sign(dy)[edge]
        total += np.bincount(point, turn * (side * turn > 0), len(total))
    result = np.empty(len(points), dtype=np.intp)
    result[order] = total
    return result


def _beside(contours: Sequence[Floats], heights: Floats) -> Iterator[tuple[Floats, Ints, Ints]]:
    """Edges as (x, y, dx, dy), and pairs (edge, point) where an edge passes a point's height.

    They come in portions that fit into memory.
    """
    points, ring = _closed(contours)
    inner = ring[1:] == ring[:-1]
    edges = np.hstack((points[:-1], np.diff(points, axis=0)))[inner].T.copy()
    passed = np.searchsorted(heights, points[:, 1])
    before, after = passed[:-1][inner], passed[1:][inner]
    first, stop = np.minimum(before, after), np.maximum(before, after)
    portion = np.cumsum(stop - first) // _MOST_CROSSINGS
    for number in range(int(portion[-1]) + 1):
        chosen = (portion == number) & (stop > first)
        edge, point = spread(first[chosen], stop[chosen])
        yield edges[:, chosen], edge, point


def _closed(contours: Sequence[Floats]) -> tuple[Floats, Ints]:
    """All points, the first of each contour also after its last, and the contour of each."""
    points = np.concatenate([part for contour in contours for part in (contour, contour[:1])])
    return points, np.repeat(np.arange(len(contours)), [len(c) + 1 for c in contours])


def _by_winding(noded: BaseGeometry, contours: Sequence[Floats], rule: Rule) -> MultiPolygon:
    faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(noded)))
    if not len(faces):
        return NOTHING
    turns = winding(shapely.get_coordinates(shapely.point_on_surface(faces)), contours)
    kept = {"nonzero": turns != 0, "evenodd": turns % 2 == 1, "positive": turns > 0}[rule]
    faces = faces[kept]
    return as_area(faces if len(faces) <= 1 else shapely.coverage_union_all(faces))
