"""Straight bars on both sides of a stretch of rows, in the row frame."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import MultiPolygon

from preprocess.geometry.base.normalise import NOTHING

if TYPE_CHECKING:
    from preprocess.arrays import Floats, Integers


def consecutive_runs(rows: Integers) -> Integers:
    """First and last of each run of consecutive numbers (ascending in, n × 2 out)."""
    if not len(rows):
        return np.empty((0, 2), dtype=np.int64)
    breaks = np.flatnonzero(np.diff(rows) > 1)
    return np.stack((rows[np.r_[0, breaks + 1]], rows[np.r_[breaks, len(rows) - 1]]), axis=1)


def bar_pairs(
    tops: Floats, bottoms: Floats, *, centre: float, span: float, bar: float
) -> MultiPolygon:
    """Two rectangles for each stretch from top to bottom, symmetric about a centre along the rows.

    Their outer edges are `span` apart, each is `bar` wide; all mm, u along and v across the rows.
    """
    if not len(tops):
        return NOTHING
    left, right = centre - span / 2, centre + span / 2
    return MultiPolygon(
        [
            *shapely.box(left, tops, left + bar, bottoms),
            *shapely.box(right - bar, tops, right, bottoms),
        ]
    )
