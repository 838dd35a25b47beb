"""Polylines by their arc length."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from preprocess.arrays import Floats, Points


def arc_lengths(points: Points) -> Floats:
    """Length of the way from the first point to each (n × 2 in, n out)."""
    return np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))))


def points_along(points: Points, along: Floats, places: Floats) -> Points:
    """Points of a polyline at some arc lengths (m in, m × 2 out).

    Args:
        points: the vertices, n × 2.
        along: the arc length at each of them, ascending.
        places: the arc lengths asked for.
    """
    return np.column_stack([np.interp(places, along, points[:, axis]) for axis in (0, 1)])
