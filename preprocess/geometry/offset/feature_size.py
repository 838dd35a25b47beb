"""Finest and longest features of shapes, for cells of a coupon and for a design alike."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.geometry.offset.opening import inscribed_widths, opening_residue

if TYPE_CHECKING:
    from shapely import MultiPolygon

MANY = 0.05
"""Share of an area from which on its narrow places count."""

_FINE = 50.0
"""Discs are drawn to their width divided by this: shares of area need no more."""

_ENOUGH = 20_000
"""Corners of an area; of one with more only some pieces are looked at."""

_SEED = 5

_STEPS = 12
"""Halvings in search of a width: good to a thousandth of the greatest."""


def share_narrower(area: MultiPolygon, width: float) -> float:
    """Share of an area that lies in places narrower than a width (mm); corners are left out.

    Of a large drawing some pieces stand for all.
    """
    some = _some(area)
    return float(shapely.area(opening_residue(some, width, fine=_FINE).pieces).sum() / some.area)


def _some(area: MultiPolygon) -> MultiPolygon:
    """Pieces drawn by lot, always the same; in turn they might all be leaves and no stem."""
    parts = shapely.get_parts(area)
    share = _ENOUGH / int(shapely.get_num_coordinates(area))
    if share >= 1:
        return area
    count = max(1, round(share * len(parts)))
    return shapely.multipolygons(np.random.default_rng(_SEED).choice(parts, count, replace=False))


def finest_width(area: MultiPolygon) -> float:
    """Width (mm) of the finest places that make up more than a twentieth of an area."""
    low, high = 0.0, float(inscribed_widths(shapely.get_parts(area), 0.001).max())
    for _ in range(_STEPS):
        middle = (low + high) / 2
        low, high = (low, middle) if share_narrower(area, middle) > MANY else (middle, high)
    return low


def longest_side(area: MultiPolygon) -> float:
    """Longer side (mm) of the largest of its connected pieces."""
    left, top, right, bottom = shapely.bounds(shapely.get_parts(area)).T
    return float(np.maximum(right - left, bottom - top).max())
