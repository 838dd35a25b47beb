"""Rounding: once when the drawing is read, and once when the artwork is written."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.geometry.base.normalise import NOTHING, as_area, part_order

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import MultiPolygon

    from preprocess.arrays import Floats, Geometries, Indices

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
    plain = _rounded(parts, decimals)
    sound = shapely.is_valid(plain)
    plain[~sound] = shapely.set_precision(parts[~sound], 10.0**-decimals)
    result = _tidy(shapely.multipolygons(shapely.get_parts(plain)), decimals)
    if shapely.is_valid(result):
        return result
    return _tidy(shapely.set_precision(area, 10.0**-decimals), decimals)


def snap_all_to_grid(areas: Sequence[MultiPolygon], decimals: int) -> list[MultiPolygon]:
    """The same of many areas, in a fraction of the time: those that rounding folds one by one."""
    given = np.array(areas, dtype=object)
    parts, owner = shapely.get_parts(given, return_index=True)
    plain = _rounded(parts, decimals)
    sound = shapely.is_valid(plain) & ~shapely.is_empty(plain)
    odd = np.bincount(owner, ~sound, minlength=len(given)) > 0
    kept = ~odd[owner]
    once = _rounded(shapely.remove_repeated_points(plain[kept]), decimals)
    result = np.full(len(given), NOTHING, dtype=object)
    if len(once):
        order = part_order(once, owner[kept])
        whole = np.unique(owner[kept])
        result[whole] = shapely.multipolygons(once[order], indices=_ranks(owner[kept][order]))
        odd |= ~shapely.is_valid(result)
    result[odd] = [snap_to_grid(area, decimals) for area in given[odd]]
    return result.tolist()


def _ranks(ascending: Indices) -> Indices:
    """0 for the least number, 1 for the next that differs, and so on."""
    return np.cumsum(np.diff(ascending, prepend=ascending[:1]) > 0)


def _rounded(geometries: Geometries, decimals: int) -> Geometries:
    return shapely.transform(geometries, lambda coords: round_coordinates(coords, decimals))


def _tidy(area: MultiPolygon, decimals: int) -> MultiPolygon:
    once = shapely.remove_repeated_points(area)
    return as_area(shapely.transform(once, lambda coords: round_coordinates(coords, decimals)))
