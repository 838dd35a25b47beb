"""Clip areas in mm."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.geometry.base.affine import map_points
from preprocess.geometry.base.rounding import round_coordinates
from preprocess.geometry.overlay.arrangement import fill_contours
from preprocess.geometry.overlay.booleans import intersection

if TYPE_CHECKING:
    from shapely import MultiPolygon

    from preprocess.model.artwork.shape import Matrix
    from preprocess.read.xml.affine import BoundingBox

FARTHEST_MM = 1e6
"""Coordinates stay within this many mm of the page, a thousand metres, however far they reach."""


def mapped_rectangle(bounds: BoundingBox, matrix: Matrix) -> MultiPolygon:
    """A rectangle in user units as an area in mm."""
    left, top, right, bottom = bounds
    corners = np.array(((left, top), (right, top), (right, bottom), (left, bottom)))
    points = np.nan_to_num(map_points(corners, matrix))
    ring = round_coordinates(np.clip(points, -FARTHEST_MM, FARTHEST_MM))
    return fill_contours([ring], "nonzero")


def intersect_clip(clip: MultiPolygon | None, area: MultiPolygon) -> MultiPolygon:
    """Intersection of a clip with another area."""
    if clip is None or shapely.covers(clip, area):
        return area
    return clip if shapely.covers(area, clip) else intersection(clip, area)
