"""The width of a mark's edge, from 10 to 90 % of its step."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.photo.finding.sampling import sample_grey
from preprocess.photo.registering.marked_drawing import MarkedDrawing, outline_points

if TYPE_CHECKING:
    from shapely import MultiPolygon

    from preprocess.photo.tone.plate_view import PlateView

_REACH, _STEP, _LEVEL = 0.9, 0.05, 0.3
"""mm to each side of an outline, from one sample to the next, and at each end for the levels."""

_LEAST_STEP = 0.1
"""Least step, as a share of the ground's luminance, of which an edge can be told."""


def mark_edge(view: PlateView, area: MultiPolygon) -> float | None:
    """Width of the edge of an area (mm); None where it is too narrow or too faint."""
    if area.buffer(-_REACH).is_empty:
        return None
    places, normals = outline_points(MarkedDrawing.of_area(area))
    across = np.arange(-_REACH, _REACH + _STEP / 2, _STEP)
    at = places[:, None] + normals[:, None] * across[None, :, None]
    pixels = (at - view.corner) * view.px - 0.5
    seen = sample_grey(view.luminance, pixels.reshape(-1, 2)).reshape(at.shape[:2])
    profile = np.median(seen, axis=0)
    few = round(_LEVEL / _STEP)
    first, last = float(np.median(profile[:few])), float(np.median(profile[-few:]))
    if abs(last - first) < _LEAST_STEP * max(first, last):
        return None
    share = np.maximum.accumulate((profile - first) / (last - first))
    low, high = np.interp([0.1, 0.9], share, across)
    return float(high - low)
