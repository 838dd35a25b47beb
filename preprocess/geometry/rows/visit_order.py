"""Orders of visiting points: far apart in turn, on a short way, or a bit of both.

Far apart: every s-th point along a Hilbert curve, round and round, with s coprime to the number of
points and next to its golden section. No fraction of small numbers comes near the golden section,
so neighbours along the curve are visited long after one another. (A. Y. Khinchin, Continued
Fractions, 1964, on the golden section as the number hardest to approximate.)
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from preprocess.geometry.rows.two_opt import nearest_neighbour_order, two_opt

if TYPE_CHECKING:
    from preprocess.arrays import Floats, Integers

_WINDOW = 5
"""Visits back that still matter."""

_GOLDEN = (math.sqrt(5) - 1) / 2

_WORST = 0.02
"""Share of the visits, those nearest to an earlier one, that a repair looks at."""

_MOST_REPAIRS = 400
_PARTNERS = 512
"""Number of other visits, spread evenly, that a repair tries to swap with."""

_FEW = 256
"""Up to so many points all strides are tried, for the golden one may be poor."""

_MEASURE = 8
"""Strides between 1 and the golden one that a mix tries, for each factor of ten."""

_BITS = 16
"""The curve visits 2^16 × 2^16 cells: below a micrometre on a field of 60 mm."""


def recent_distances(points: Floats, window: int = _WINDOW) -> Floats:
    """Distance of each visited point (n×2, in order) to the nearest of those just before it."""
    found = np.full(len(points), np.inf)
    for lag in range(1, min(window, len(points) - 1) + 1):
        found[lag:] = np.minimum(found[lag:], np.hypot(*(points[lag:] - points[:-lag]).T))
    return found[1:]


def visit_spacing(points: Floats) -> float:
    """Distance that all but 1 % of the visits keep from the last five, mm; 0 below two points."""
    return float(np.quantile(recent_distances(points), 0.01)) if len(points) > 1 else 0.0


def path_length(points: Floats) -> float:
    """Length of the way from point to point, mm."""
    return float(np.hypot(*np.diff(points, axis=0).T).sum())


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


def hilbert_order(points: Floats) -> Integers:
    """Order along a Hilbert curve; of points in one cell the upper, then the left one first."""
    return np.lexsort((points[:, 0], points[:, 1], hilbert_index(points)))


def spread_order(points: Floats, *, repair: bool = True) -> Integers:
    """Order in which each point is far from the last five; O(n log n)."""
    curve = hilbert_order(points)
    number = len(curve)
    strides = range(1, number) if number <= _FEW else [round(number * _GOLDEN)]
    tried = [_strided(curve, _coprime(stride, number)) for stride in strides] or [curve]
    best = max(tried, key=lambda order: _rank(points[order]))
    return swap_near_visits(points, best) if repair else best


def swap_near_visits(points: Floats, order: Integers) -> Integers:
    """Swap visits that follow a near one too soon with others, where both gain room."""
    order = order.copy()
    near = recent_distances(points[order])
    worst = np.argsort(near, kind="stable")[: min(_MOST_REPAIRS, math.ceil(_WORST * len(near)))] + 1
    others = np.unique(np.linspace(0, len(order) - 1, _PARTNERS).astype(np.int64))
    for one in worst.tolist():
        far = others[np.abs(others - one) > 2 * _WINDOW]
        if not len(far):
            continue
        here, there = np.array([one]), far
        now = _room(points, order, here, order[here])[0]
        gained = np.minimum(
            _room(points, order, here, order[there]), _room(points, order, there, order[here])
        )
        best = int(np.argmax(gained))
        if gained[best] > now:
            other = far[best]
            order[one], order[other] = order[other], order[one]
    return order


def weighted_order(points: Floats, weight: float) -> Integers:
    """Order of most weight · spacing − (1 − weight) · length, each as a share of the greatest."""
    cool, short = spread_order(points), short_path_order(points)
    curve = hilbert_order(points)
    tried = [cool, short, *(_strided(curve, s) for s in _strides(len(curve)))]
    room = [visit_spacing(points[order]) for order in tried]
    ways = [path_length(points[order]) for order in tried]
    most, longest = max(room) or 1.0, max(ways) or 1.0
    score = [
        weight * r / most - (1 - weight) * w / longest for r, w in zip(room, ways, strict=True)
    ]
    return tried[int(np.argmax(score))]


def short_path_order(points: Floats) -> Integers:
    """Order of a short way: always on to the nearest, or along the curve; then crossings undone."""
    return two_opt(points, nearest_neighbour_order(points, hilbert_order(points)))


def _rank(points: Floats) -> tuple[float, float]:
    near = recent_distances(points)
    return (visit_spacing(points), float(near.mean())) if len(near) else (0.0, 0.0)


def _room(points: Floats, order: Integers, places: Integers, visitors: Integers) -> Floats:
    """Distance from visitors put at places to the nearest within the window on either side."""
    lags = np.r_[-_WINDOW:0, 1 : _WINDOW + 1]
    around = places[:, None] + lags
    inside = (around >= 0) & (around < len(order))
    beside = points[order[np.clip(around, 0, len(order) - 1)]]
    apart = np.hypot(*np.moveaxis(points[visitors][:, None, :] - beside, 2, 0))
    return np.where(inside, apart, np.inf).min(axis=1)


def _strided(curve: Integers, stride: int) -> Integers:
    return curve[np.arange(len(curve)) * stride % len(curve)]


def _strides(number: int) -> list[int]:
    golden = max(1, round(number * _GOLDEN))
    steps = max(2, round(_MEASURE * math.log10(golden)) + 1)
    spread = np.geomspace(1, golden, steps).round().astype(int).tolist()
    return sorted({_coprime(stride, number) for stride in spread})


def _coprime(stride: int, number: int) -> int:
    """The number nearest to a stride that shares no factor with `number`; the lower one first."""
    for away in range(number):
        for candidate in (stride - away, stride + away):
            if candidate > 0 and math.gcd(candidate, number) == 1:
                return candidate
    return 1
