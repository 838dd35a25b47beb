"""Vertices that lie on a row but for the rounding of numbers, put onto it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from preprocess.arrays import Floats


_NEAR = 1.5e-4
"""mm by which a vertex may miss a row and still be taken to lie on it. On a grid of 1e-4 mm an
edge at any angle, and the edge that the rows begin on, move by 0.5e-4 × √2 each: together less,
and a row on an edge must not be lost or gained through that."""


def snap_to_rows(points: Floats, first: float, pitch: float, count: int) -> Floats:
    """Points of the row frame (n×2, u and v in mm), those near one of `count` rows moved onto it.

    The place of the row after the last one counts too: an edge there has no row.
    """
    points = points.copy()
    index = np.clip(np.rint((points[:, 1] - first) / pitch), 0, count)
    on_row = first + pitch * index
    near = np.abs(points[:, 1] - on_row) <= min(_NEAR, pitch / 100)
    points[near, 1] = on_row[near]
    return points
