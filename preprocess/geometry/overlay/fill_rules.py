"""Fill rules: the area that the contours of one path, which may cross anything, fill.

Source of the rules: SVG 1.1, section 11.3, `fill-rule`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import numpy as np
import shapely

from preprocess.geometry.base.normalise import NOTHING
from preprocess.geometry.overlay.arrangement import fill_arrangement

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import MultiPolygon

    from preprocess.arrays import Floats

_FEWEST = 3


def fill_contours(contours: Sequence[Floats], rule: Literal["nonzero", "evenodd"]) -> MultiPolygon:
    """Area that the contours of one path fill.

    Args:
        contours: arrays of N x 2 in mm, implicitly closed, rounded to 1e-6 mm.
        rule: SVG's fill rule.

    Returns:
        A valid area. Contours of fewer than three points and those without area give nothing.
    """
    rings = [contour for contour in map(_open, contours) if len(contour) >= _FEWEST]
    if not rings:
        return NOTHING
    if len(rings) == 1:
        single = shapely.polygons(rings[0])
        if shapely.is_valid(single):
            return shapely.multipolygons([single])
    return fill_arrangement(rings, rule)


def _open(contour: Floats) -> Floats:
    points = np.asarray(contour, dtype=np.float64).reshape(-1, 2)
    repeated = len(points) > 1 and (points[0] == points[-1]).all()
    return points[:-1] if repeated else points
