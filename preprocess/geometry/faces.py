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

GRID = 1e-6
_MOST_CROSSINGS = 2_000_000


def filled(contours: Sequence[Floats], rule: Rule) -> MultiPolygon:
    """The area that contours (N x 2 each, implicitly closed) fill; they may cross anything.

    Noding by GEOS, first exact, then on a grid of 1e-6 mm; if both fail, Clipper on that grid.
    """
    lines = shapely.multilinestrings(_rings(contours))
    for grid in (None, GRID):
        try:
            return _by_winding(shapely.union_all([lines], grid_size=grid), contours, rule)
        except GEOSException:
            continue
    return clipper.filled(contours, rule)


def winding(points: Floats, contours: Sequence[Floats]) -> NDArray[np.intp]:
    """How often all contours together wind around each of the points (n x 2)."""
    order = np.argsort(points[:, 1], kind="stable")
    total = np.zeros(len(points), dtype=np.intp)
    for edge, point in _pairs(contours, points[order, 1]):
        x, y = points[order[point]].T
        x0, y0, x1, y1 = edge
        side = (x1 - x0) * (y - y0) - (x - x0) * (y1 - y0)
        up = np.where(y1 > y0, 1, -1)
        total += np.bincount(point, up * (side * up > 0), len(total)).astype(np.intp)
    result = np.empty_like(total)
    result[order] = total
    return result


def _rings(contours: Sequence[Floats]) -> NDArray[np.object_]:
    closed = [part for c in contours for part in (c, c[:1])]
    owner = np.repeat(np.arange(len(contours)), [len(c) + 1 for c in contours])
    return shapely.linestrings(np.concatenate(closed), indices=owner)


def _pairs(
    contours: Sequence[Floats], heights: Floats
) -> Iterator[tuple[Floats, NDArray[np.intp]]]:
    """Edges and the points at whose height they pass, in portions that fit into memory."""
    start = np.concatenate(contours)
    end = np.concatenate([np.roll(c, -1, axis=0) for c in contours])
    low, high = np.minimum(start[:, 1], end[:, 1]), np.maximum(start[:, 1], end[:, 1])
    first, stop = np.searchsorted(heights, low), np.searchsorted(heights, high)
    portion = np.cumsum(stop - first) // _MOST_CROSSINGS
    for number in np.unique(portion[stop > first]):
        chosen = portion == number
        edge, point = spread(first[chosen], stop[chosen])
        yield np.hstack((start, end))[chosen][edge].T, point


def _by_winding(noded: BaseGeometry, contours: Sequence[Floats], rule: Rule) -> MultiPolygon:
    faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(noded)))
    if not len(faces):
        return NOTHING
    turns = winding(shapely.get_coordinates(shapely.point_on_surface(faces)), contours)
    kept = {"nonzero": turns != 0, "evenodd": turns % 2 == 1, "positive": turns > 0}[rule]
    return as_area(shapely.coverage_union_all(faces[kept]))
