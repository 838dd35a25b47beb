"""Clip areas in mm."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.geometry.base.affine import map_points
from preprocess.geometry.base.normalise import NOTHING
from preprocess.geometry.base.rounding import round_coordinates
from preprocess.geometry.overlay.arrangement import fill_contours
from preprocess.geometry.overlay.booleans import intersection

if TYPE_CHECKING:
    from shapely import MultiPolygon

    from preprocess.arrays import Floats
    from preprocess.model.artwork.shape import Matrix
    from preprocess.read.xml.affine import BoundingBox

FARTHEST_MM = 1e6
"""Coordinates stay within this many mm of the page, a thousand metres, however far they reach."""

_CORNERS = 4

_MEANT = 1e-5
"""mm; sides that miss one another by less may be meant as one. `intersection` sees to these."""


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
    if shapely.covers(area, clip):
        return clip
    sides = _upright_sides(clip), _upright_sides(area)
    if sides[0] is None or sides[1] is None or _nearly_meet(sides[0], sides[1]):
        return intersection(clip, area)
    left, top = np.maximum(sides[0][:2], sides[1][:2])
    right, bottom = np.minimum(sides[0][2:], sides[1][2:])
    if left >= right or top >= bottom:
        return NOTHING
    return shapely.multipolygons([shapely.box(left, top, right, bottom, ccw=False)])


def _upright_sides(area: MultiPolygon) -> Floats | None:
    """Left, top, right and bottom of an upright rectangle; None of anything else."""
    points = shapely.get_coordinates(area)
    if len(points) != _CORNERS + 1 or not (np.diff(points, axis=0) == 0).any(axis=1).all():
        return None
    return np.concatenate((points.min(axis=0), points.max(axis=0)))


def _nearly_meet(one: Floats, other: Floats) -> bool:
    """Test whether a side of one lies beside one of the other by so little that it may be meant."""
    gaps = np.abs(one.reshape(2, 2)[:, None] - other.reshape(2, 2)[None])
    return bool(((gaps > 0) & (gaps <= _MEANT)).any())
