"""Areas and lines under an affine map."""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely
from shapely import MultiPolygon
from shapely.affinity import affine_transform

from preprocess.geometry.base.sweep import rings_of
from preprocess.geometry.overlay.arrangement import fill_contours

if TYPE_CHECKING:
    from preprocess.geometry.base.row_frame import Geometry
    from preprocess.model.artwork.shape import Matrix


def apply_affine(geometry: Geometry, matrix: Matrix) -> Geometry:
    """Map an area or lines; the area stays valid where rounding would make rings cross.

    Rings that touch in a point may cross by the last digit of a number once they are rotated.

    Args:
        geometry: in mm.
        matrix: a, b, c, d, e, f of SVG's `matrix`: x' = a x + c y + e, y' = b x + d y + f.
    """
    a, b, c, d, e, f = matrix
    result = affine_transform(geometry, (a, c, b, d, e, f))
    if isinstance(result, MultiPolygon) and not shapely.is_valid(result):
        return fill_contours(rings_of(result), "evenodd")
    return result
