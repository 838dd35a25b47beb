"""A short open way through points: nearest neighbour, then 2-opt.

(G. A. Croes, A Method for Solving Traveling-Salesman Problems, Operations Research 6, 1958.)
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from preprocess.arrays import Floats, Integers


_MANY = 2000
"""Above this many points the way begins as it is, and crossings are sought only nearby."""

_REACH = 64
"""Visits ahead among which a crossing is sought when there are many points."""

_SWEEPS = 12
"""Times that all edges are looked at: more gain little."""


def nearest_neighbour_order(points: Floats, order: Integers) -> Integers:
    """Order by nearest neighbour, from the first point on; many points stay in order."""
    if not 1 < len(order) <= _MANY:
        return order
    left = points[order].copy()
    found = [0]
    for _ in range(len(order) - 1):
        here = left[found[-1]].copy()
        left[found[-1]] = np.inf
        found.append(int(np.argmin(np.hypot(*(left - here).T))))
    return order[found]


def two_opt(points: Floats, order: Integers) -> Integers:
    """Reverse stretches of the way as long as that makes it shorter (2-opt)."""
    way = points[order].copy()
    order = order.copy()
    reach = len(order) if len(order) <= _MANY else _REACH
    for _ in range(_SWEEPS):
        better = False
        for at in range(len(order) - 2):
            better |= _turned(way, order, at, reach)
        if not better:
            break
    return order


def _turned(way: Floats, order: Integers, at: int, reach: int) -> bool:
    """Turn round the stretch after `at` that shortens the way most, if any does."""
    here, after = way[at], way[at + 1]
    ends = way[at + 2 : at + 2 + reach]
    beyond = way[at + 3 : at + 3 + reach]
    gain = np.hypot(*(after - here)) - np.hypot(*(ends - here).T)
    inner = len(beyond)
    gain[:inner] += np.hypot(*(beyond - ends[:inner]).T) - np.hypot(*(beyond - after).T)
    best = int(np.argmax(gain))
    if gain[best] <= 1e-9:  # noqa: PLR2004 - the rounding of numbers
        return False
    stretch = slice(at + 1, at + 3 + best)
    way[stretch], order[stretch] = way[stretch][::-1].copy(), order[stretch][::-1].copy()
    return True
