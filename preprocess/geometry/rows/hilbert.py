"""Hilbert curve: points that are near in the plane are mostly near along it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from preprocess.arrays import Floats, Integers

_BITS = 16
"""The curve visits 2^16 × 2^16 cells: below a micrometre on a field of 60 mm."""


def hilbert_index(points: Floats) -> Integers:
    """Number of the cell of each point (n×2) along the curve that fills their bounding square.

    Quadrant by quadrant, from the coarsest on: the two bits of x and y give the quadrant's place
    in a U, and the lower bits are mirrored or swapped into the U of that quadrant.
    (D. Hilbert, Über die stetige Abbildung einer Linie auf ein Flächenstück, 1891.)
    """
    if not len(points):
        return np.empty(0, np.int64)
    low = points.min(axis=0)
    size = float(np.ptp(points, axis=0).max()) or 1.0
    cells = np.minimum((points - low) / size * 2**_BITS, 2**_BITS - 1).astype(np.int64)
    x, y = cells[:, 0].copy(), cells[:, 1].copy()
    index = np.zeros(len(points), np.int64)
    for bit in reversed(range(_BITS)):
        right, below = (x >> bit) & 1, (y >> bit) & 1
        index = (index << 2) | ((3 * right) ^ below)
        rest = (1 << bit) - 1
        mirrored = (below == 0) & (right == 1)
        x, y = (
            np.where(mirrored, rest - (x & rest), x & rest),
            np.where(mirrored, rest - (y & rest), y & rest),
        )
        x, y = np.where(below == 0, y, x), np.where(below == 0, x, y)
    return index
