"""Tables of heat over spread and optical depth, and their values in between, by cubic splines."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from scipy.interpolate import CubicSpline

if TYPE_CHECKING:
    from preprocess.arrays import Floats

TABLE_SPREADS = np.geomspace(0.08, 2.6, 9)
TABLE_DEPTHS = np.geomspace(0.01, 0.4, 7)
"""The grid, mm."""


def table_weights(spread: float, depth: float) -> Floats:
    """Weights of the grid's values at logarithms of spread and depth (mm): spreads × depths."""
    return np.outer(
        _spline(0)(_within(spread, TABLE_SPREADS)), _spline(1)(_within(depth, TABLE_DEPTHS))
    )


@lru_cache(maxsize=2)
def _spline(axis: int) -> CubicSpline:
    grid = (TABLE_SPREADS, TABLE_DEPTHS)[axis]
    return CubicSpline(np.log(grid), np.eye(len(grid)))


def _within(value: float, grid: Floats) -> float:
    low, high = np.log(grid[[0, -1]]).tolist()
    return float(min(max(value, low), high))
