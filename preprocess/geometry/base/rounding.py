"""Rounding: once when the drawing is read, and once when the artwork is written."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.geometry.base.normalise import as_area

if TYPE_CHECKING:
    from shapely import MultiPolygon

    from preprocess.arrays import Floats

_READ_DECIMALS = 6


def round_coordinates(coords: Floats, decimals: int = _READ_DECIMALS) -> Floats:
    """Round coordinates in mm, to 1e-6 mm unless told otherwise; there is no negative zero.

    Edges that two shapes share in the drawing only then share their end points bit for bit.
    """
    return np.round(coords, decimals) + 0.0


def snap_to_grid(area: MultiPolygon, decimals: int) -> MultiPolygon:
    """Round an area to a number of decimals of a millimetre, valid and free of repeated points.

    Vertices are rounded one by one; parts that this folds or makes touch along an edge are
    rounded again by snap rounding (GEOS), which may join them or drop what is below the grid.
    """
    parts = shapely.get_parts(area)
    plain = shapely.transform(parts, lambda coords: round_coordinates(coords, decimals))
    sound = shapely.is_valid(plain)
    plain[~sound] = shapely.set_precision(parts[~sound], 10.0**-decimals)
    result = _tidy(shapely.multipolygons(shapely.get_parts(plain)), decimals)
    if shapely.is_valid(result):
        return result
    return _tidy(shapely.set_precision(area, 10.0**-decimals), decimals)


def _tidy(area: MultiPolygon, decimals: int) -> MultiPolygon:
    once = shapely.remove_repeated_points(area)
    return as_area(shapely.transform(once, lambda coords: round_coordinates(coords, decimals)))
