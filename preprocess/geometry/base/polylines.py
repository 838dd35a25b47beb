"""Polylines and rings: arc lengths, edges, and where a ring begins however it was drawn."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar

import numpy as np
import shapely

if TYPE_CHECKING:
    from preprocess.arrays import Floats, Geometries, Indices, Integers, Points

    Numbers = TypeVar("Numbers", Floats, Integers)


def start_at_topmost(points: Numbers, ring: Indices) -> Numbers:
    """Rotate the vertices of many rings so that each begins at its topmost, then leftmost one.

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


def arc_lengths(points: Points) -> Floats:
    """Arc length from the first point to each (n × 2 in, n out), in the unit of the points."""
    return np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))))


def points_along(points: Points, along: Floats, places: Floats) -> Points:
    """Points of a polyline at some arc lengths (m in, m × 2 out).

    Args:
        points: the vertices, n × 2.
        along: the arc length at each of them, ascending.
        places: the arc lengths asked for.
    """
    return np.column_stack([np.interp(places, along, points[:, axis]) for axis in (0, 1)])
