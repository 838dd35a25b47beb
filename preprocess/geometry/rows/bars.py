"""Straight bars on both sides of runs of rows."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import MultiPolygon

from preprocess.geometry.base.normalise import NOTHING
from preprocess.geometry.base.row_frame import RowFrame
from preprocess.geometry.overlay.booleans import intersection, union

if TYPE_CHECKING:
    from collections.abc import Sequence

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
    """Pair of rectangles for each run from top to bottom, symmetric about a centre along the rows.

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


def clip_to_rows(bars: MultiPolygon, areas: Sequence[MultiPolygon], angle: float) -> MultiPolygon:
    """Clip bars to the rows of areas, for a scan angle in degrees; mm."""
    if bars.is_empty:
        return NOTHING
    frame = RowFrame(angle)
    turned = frame.to_rows(bars)
    left, _, right, _ = turned.bounds
    spans = [frame.to_rows(part).bounds for area in areas for part in area.geoms]
    strips = union([shapely.box(left - 1, top, right + 1, low) for _, top, _, low in spans])
    return frame.to_page(intersection(turned, strips))
