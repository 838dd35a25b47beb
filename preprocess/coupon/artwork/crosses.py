"""Small crosses on bare plastic, by which a photo of the coupon is laid on its drawing.

Without them a smooth blade slides along itself.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import MultiLineString

from preprocess.coupon.artwork.shapes import translated
from preprocess.coupon.design.dimensions import MARGIN

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.arrays import Points

CROSS = 2.0
"""Width and height of a cross, mm."""

MOST_CROSSES = 10

_ARM, _LINES = 0.4, 5
"""mm from the first to the last line of an arm, and how many lines fill it."""

_CLEAR = 1.2
"""mm of bare plastic between a cross and any mark."""

_APART = 5.0
"""Least distance of two crosses, mm."""

_GRID = 0.5


def cross_lines() -> MultiLineString:
    """One cross, its box at the origin: arms of lines so close that they look filled."""
    middle, half = CROSS / 2, _ARM / 2
    offsets = np.linspace(-half, half, _LINES)
    across = [[(0.0, middle + o), (CROSS, middle + o)] for o in offsets]
    low, high = middle - half - _ARM / (_LINES - 1), middle + half + _ARM / (_LINES - 1)
    down = [
        [(middle + o, start), (middle + o, end)]
        for o in offsets
        for start, end in ((0.0, low), (high, CROSS))
    ]
    return translated(MultiLineString([*across, *down]), 0.0, 0.0)


def placed_crosses(
    plate: tuple[float, float], marks: Sequence[shapely.Geometry]
) -> tuple[MultiLineString, ...]:
    """Up to ten crosses, far from one another, wherever the plate is bare; x right, y down, mm."""
    free = _free_places(plate, marks)
    chosen: list[Points] = []
    while len(free) and len(chosen) < MOST_CROSSES:
        if chosen:
            away = np.min([np.hypot(*(free - one).T) for one in chosen], axis=0)
            best = int(np.argmax(np.round(away, 6)))
            if away[best] < _APART:
                break
        else:
            best = int(np.argmin(free.sum(axis=1)))
        chosen.append(free[best])
    drawn = cross_lines()
    ordered = sorted((float(y), float(x)) for x, y in chosen)
    return tuple(translated(drawn, x - CROSS / 2, y - CROSS / 2) for y, x in ordered)


def _free_places(plate: tuple[float, float], marks: Sequence[shapely.Geometry]) -> Points:
    rim = MARGIN + CROSS / 2
    sides = [np.arange(rim, side - rim + 1e-9, _GRID) for side in plate]
    places = np.stack(np.meshgrid(*sides), axis=-1).reshape(-1, 2)
    joined = shapely.unary_union(list(marks))
    shapely.prepare(joined)
    away = shapely.distance(shapely.points(places), joined)
    return np.asarray(places[away >= CROSS / 2 + _CLEAR - 1e-9], dtype=np.float64)
