"""Areas in mm that bound what is painted."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.geometry.base.rounding import round_coordinates
from preprocess.geometry.overlay.booleans import intersection
from preprocess.geometry.overlay.fill_rules import fill_contours

if TYPE_CHECKING:
    from shapely import MultiPolygon

    from preprocess.model.artwork.shape import Matrix
    from preprocess.read.xml.affine import BoundingBox

FARTHEST = 1e6
"""Coordinates stay within this many mm of the page, a thousand metres, however far they reach."""


def rectangle(bounds: BoundingBox, matrix: Matrix) -> MultiPolygon:
    """A rectangle in user units as an area in mm."""
    left, top, right, bottom = bounds
    corners = np.array(((left, top), (right, top), (right, bottom), (left, bottom)))
    a, b, c, d, e, f = matrix
    x, y = corners[:, 0], corners[:, 1]
    points = np.column_stack((a * x + c * y + e, b * x + d * y + f))
    return fill_contours(
        [round_coordinates(np.clip(np.nan_to_num(points), -FARTHEST, FARTHEST))], "nonzero"
    )


def narrowed(clip: MultiPolygon | None, area: MultiPolygon) -> MultiPolygon:
    """What is left of a clip within another area."""
    if clip is None or shapely.covers(clip, area):
        return area
    return clip if shapely.covers(area, clip) else intersection(clip, area)
