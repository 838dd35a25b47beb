"""Rings: their edges, and where they begin however they were drawn."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar

import numpy as np
import shapely

if TYPE_CHECKING:
    from preprocess.arrays import Floats, Geometries, Indices, Integers

    Numbers = TypeVar("Numbers", Floats, Integers)


def start_at_topmost(points: Numbers, ring: Indices) -> Numbers:
    """The vertices of many rings, each from its topmost (then leftmost) vertex on.

    Args:
        points: n x 2, ring after ring, the last vertex of a ring not being its first again.
        ring: to which ring each vertex belongs, ascending.
    """
    _, begins, counts = np.unique(ring, return_index=True, return_counts=True)
    topmost = np.lexsort((points[:, 0], points[:, 1], ring))[begins]
    begin, count, first = (np.repeat(of, counts) for of in (begins, counts, topmost))
    return points[begin + (np.arange(len(points)) - begin + first - begin) % count]


def ring_edges(polygons: Geometries) -> Floats:
    """Edges of all rings of polygons, ring after ring: n × 2 × 2."""
    return edges_by_part(polygons)[0]


def edges_by_part(polygons: Geometries) -> tuple[Floats, Indices]:
    """Edges of all rings of polygons, n × 2 × 2, and of which polygon each is."""
    rings, part = shapely.get_rings(polygons, return_index=True)
    points, ring = shapely.get_coordinates(rings, return_index=True)
    same = ring[:-1] == ring[1:]
    return np.stack((points[:-1], points[1:]), axis=1)[same], part[ring[:-1][same]]
