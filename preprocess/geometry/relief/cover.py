"""The cover of a mesh: the area that its triangles hide, seen from above.

Each triangle is turned counter-clockwise in projection, and half-edges that run against one
another cancel. What is left are closed contours that wind round a point as often as triangles lie
over it, whatever their normals say: the area of all winding numbers but 0 is the exact union.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import MultiPolygon

from preprocess.geometry.base.normalise import NOTHING, as_area
from preprocess.geometry.overlay.arrangement import fill_contours
from preprocess.geometry.relief.half_edges import unpaired_edges

if TYPE_CHECKING:
    from preprocess.arrays import Floats, Integers, Points

GRID = 1e-5
"""mm between places that corners are moved to; single precision is coarser beyond 0.1 m."""

CRACK = 0.005
"""mm: what is narrower is a crack between triangles, or dust."""

_SHIFT = 1 << 31


def cover(triangles: Floats, *, crack: float = CRACK) -> MultiPolygon:
    """The area that triangles (n × 3 corners × 2 or 3, mm) cover together.

    It is exact but for rounding to 0.01 µm; specks and slits narrower than `crack` are left out.
    """
    found = contours(triangles)
    return without_cracks(fill_contours(found, "nonzero"), crack) if found else NOTHING


def without_cracks(area: MultiPolygon, width: float = CRACK) -> MultiPolygon:
    """The area without parts and holes narrower than a width, mm.

    A ring is that narrow if its area is less than half its length times the width.
    """
    polygons = [
        shapely.Polygon(one.exterior, [ring for ring in one.interiors if _is_wide(ring, width)])
        for one in area.geoms
        if _is_wide(one.exterior, width)
    ]
    return as_area(polygons) if polygons else NOTHING


def _is_wide(ring: shapely.LinearRing, width: float) -> bool:
    return bool(shapely.Polygon(ring).area > ring.length * width / 2)


def contours(triangles: Floats) -> list[Points]:
    """Closed contours that are left when half-edges of the turned triangles cancel."""
    turned = _turned(triangles)
    if not len(turned):
        return []
    low, high = _left_edges(_packed(turned))
    corners, number = np.unique(np.concatenate((low, high)), return_inverse=True)
    x, y = np.divmod(corners, _SHIFT)
    places = (np.column_stack((x, y)) + turned.reshape(-1, 2).min(axis=0)) * GRID
    return [places[walk] for walk in _walks(number[: len(low)], number[len(low) :])]


def _turned(triangles: Floats) -> Integers:
    """Triangles counter-clockwise on the grid, n × 3 × 2, without those seen edge-on.

    Their sides are told before rounding: slivers that vanish on the grid cancel as well.
    """
    flat = triangles[:, :, :2]
    one, two = flat[:, 1] - flat[:, 0], flat[:, 2] - flat[:, 0]
    side = one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]
    seen = side != 0
    grid = np.round(flat[seen] / GRID).astype(np.int64)
    clockwise = side[seen] < 0
    grid[clockwise] = grid[clockwise, ::-1]
    return grid


def _packed(turned: Integers) -> Integers:
    """A number for the place of each corner, n × 3."""
    x, y = np.moveaxis(turned - turned.reshape(-1, 2).min(axis=0), 2, 0)
    return x * _SHIFT + y


def _left_edges(corners: Integers) -> tuple[Integers, Integers]:
    """Starts and stops of half-edges that no other one cancels, each as often as it is left."""
    start, stop = corners.ravel(), corners[:, [1, 2, 0]].ravel()
    edge, net = unpaired_edges(start, stop)
    start, stop, times = start[edge], stop[edge], np.abs(net)
    ahead = (start < stop) == (net > 0)
    return (
        np.repeat(np.where(ahead, start, stop), times),
        np.repeat(np.where(ahead, stop, start), times),
    )


def _walks(start: Integers, stop: Integers) -> list[list[int]]:
    """Split half-edges, as many into as out of each corner, into closed walks without repeats."""
    order = np.argsort(start, kind="stable")
    leaving: dict[int, list[int]] = {}
    for one, other in zip(start[order].tolist(), stop[order].tolist(), strict=True):
        leaving.setdefault(one, []).append(other)
    found: list[list[int]] = []
    for first, onward in leaving.items():
        while onward:
            found += _loops_from(first, leaving)
    return found


def _loops_from(first: int, leaving: dict[int, list[int]]) -> list[list[int]]:
    """Walk from a corner until it is met again with nothing left over; each loop by itself."""
    found, walk, at = [], [first], first
    place = {first: 0}
    while True:
        at = leaving[at].pop()
        if at not in place:
            place[at] = len(walk)
            walk.append(at)
            continue
        begin = place[at]
        found.append(walk[begin:])
        for corner in walk[begin + 1 :]:
            del place[corner]
        del walk[begin + 1 :]
        if begin == 0:
            return found
