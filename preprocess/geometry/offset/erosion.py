"""Erosion and dilation by a disc, part by part, holes one by one where there are many.

Offsetting all rings of a lace at once means noding all their arcs with one another; ring by ring
the work is that of many small shapes (erosion takes away the shell's margin and the dilated holes,
dilation adds the shell's margin and leaves the eroded holes).
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from preprocess.arrays import Floats, Geometries


_FINE = 40
"""Outlines with edges shorter than this many tolerances on average are worth simplifying."""

_MANY = 6
"""A part with more holes than this is offset ring by ring."""


def erode_parts(parts: Geometries, distance: float | Floats, tolerance: float) -> Geometries:
    """Erode each part by a distance in mm, one for all or one for each."""
    return _offset(parts, -_for_each(distance, parts), tolerance)


def dilate_parts(parts: Geometries, distance: float | Floats, tolerance: float) -> Geometries:
    """Dilate each part by a distance in mm, one for all or one for each; its pieces are united."""
    pieces, owner = shapely.get_parts(parts, return_index=True)
    grown = _offset(pieces, _for_each(distance, parts)[owner], tolerance)
    result = np.full(len(parts), shapely.MultiPolygon(), dtype=object)
    alone = np.bincount(owner, minlength=len(parts)) == 1
    result[owner[alone[owner]]] = grown[alone[owner]]
    for index in np.unique(owner[~alone[owner]]):
        result[index] = shapely.disjoint_subset_union_all(grown[owner == index])
    return result


def simplify_fine_parts(parts: Geometries, tolerance: float) -> Geometries:
    """Simplify the parts whose outlines are drawn finely, within a tolerance (mm).

    Others are offset as quickly as they would be simplified, and stay as they are.
    """
    edge = shapely.length(parts) / np.maximum(shapely.get_num_coordinates(parts), 1)
    fine = edge < _FINE * tolerance
    result = parts.copy()
    result[fine] = shapely.simplify(parts[fine], tolerance)
    return result


def quadrant_segments(radius: float, tolerance: float) -> int:
    """Chords q per quarter circle that keep within the tolerance: r (1 − cos(π/4q)) ≤ t."""
    return math.ceil(math.pi / 4 / math.acos(1 - min(tolerance / radius, 1.0)))


def _for_each(distance: float | Floats, parts: Geometries) -> Floats:
    return np.broadcast_to(np.asarray(distance, dtype=float), (len(parts),))


def _offset(parts: Geometries, distance: Floats, tolerance: float) -> Geometries:
    chords = max(2, quadrant_segments(float(np.abs(distance).max(initial=tolerance)), tolerance))
    laced = shapely.get_num_interior_rings(parts) > _MANY
    result = np.empty(len(parts), dtype=object)
    result[~laced] = shapely.buffer(parts[~laced], distance[~laced], quad_segs=chords)
    for index in np.flatnonzero(laced):
        result[index] = _ring_by_ring(parts[index], float(distance[index]), chords)
    return result


def _ring_by_ring(part: shapely.Polygon, distance: float, chords: int) -> shapely.Geometry:
    rings = shapely.polygons(shapely.get_rings(part))
    shell = shapely.buffer(rings[0], distance, quad_segs=chords)
    holes = shapely.buffer(rings[1:], -distance, quad_segs=chords)
    return shapely.difference(shell, shapely.disjoint_subset_union_all(holes))
