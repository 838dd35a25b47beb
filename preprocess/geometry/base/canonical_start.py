"""Where rings begin: at their topmost vertex, the leftmost of these, however they were drawn."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar

import numpy as np

if TYPE_CHECKING:
    from preprocess.arrays import Floats, Indices, Integers

    Numbers = TypeVar("Numbers", Floats, Integers)


def start_at_topmost(points: Numbers, ring: Indices) -> Numbers:
    """The vertices of many rings, each from its topmost (then leftmost) vertex on.

    Args:
        points: n x 2, ring after ring, the last vertex of a ring not being its first again.
        ring: to which ring each vertex belongs, ascending.
    """
    _, begins, counts = np.unique(ring, return_index=True, return_counts=True)
    topmost = np.lexsort((points[:, 0], points[:, 1], ring))[begins]
    begin, count, first = (np.repeat(of, counts) for of in (begins, counts, topmost))
    return points[begin + (np.arange(len(points)) - begin + first - begin) % count]
