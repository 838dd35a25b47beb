"""The power that a grey looks equal to in a photo: that of a square of the same tone."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.arrays import Floats
    from preprocess.coupon.design.model import Coupon
    from preprocess.photo.measured import MeasuredCoupon, MeasuredPlace

_LEAST_SEEN = 2 / 3
"""Share of all squares that must be seen: a lamp over half of them shifts the tones of the rest."""

_LEAST_KNOWN = 3
"""Squares of known power among them."""

_CLEAR = 2.0
"""Standard deviations by which two neighbouring squares must differ to tell a power between."""

_BEYOND = 0.5
"""Share of a step of power that a grey may lie beyond the last square."""

_BENT = 0.05
"""Share of a step by which the tone may bend away from a straight line between two squares."""


def photo_powers(coupon: Coupon, measured: MeasuredCoupon) -> dict[str, tuple[float, float]]:
    """The power of each grey and its standard deviation, shares, by name of its square.

    A grey is left out where no photo shows it, where it is beyond all squares of known power, and
    where the squares beside it look alike. All are where photos show less than two thirds.

    Args:
        coupon: one of grey-steps.
        measured: the same as photos show it.
    """
    seen = {place.cell: place for place in measured.places}
    squares = sorted(coupon.beside, key=lambda square: square.power)
    known = [(square.power, seen[square.name]) for square in squares if square.name in seen]
    total = len(coupon.cells) + len(coupon.beside)
    if len(seen) < _LEAST_SEEN * total or len(known) < _LEAST_KNOWN:
        return {}
    found = {
        cell.name: _power_at(seen[cell.name], known) for cell in coupon.cells if cell.name in seen
    }
    return {name: told for name, told in found.items() if told is not None}


def _power_at(
    place: MeasuredPlace, known: Sequence[tuple[float, MeasuredPlace]]
) -> tuple[float, float] | None:
    """Power on the line between the two squares whose tones lie around, and its deviation."""
    powers = np.array([power for power, _ in known])
    tones = np.array([one.tone for _, one in known])
    way = float(np.sign(tones[-1] - tones[0]))
    rising = _in_order(way * tones)
    below = int(np.clip(np.searchsorted(rising, way * place.tone) - 1, 0, len(rising) - 2))
    rise, step = rising[below + 1] - rising[below], powers[below + 1] - powers[below]
    two = known[below][1].sd, known[below + 1][1].sd
    if rise < _CLEAR * np.hypot(*two):
        return None
    share = float((way * place.tone - rising[below]) / rise)
    if not -_BEYOND <= share <= 1 + _BEYOND:
        return None
    error = np.hypot(place.sd, np.hypot(two[0] * (1 - share), two[1] * share)) / rise
    return float(powers[below] + share * step), float(step * np.hypot(error, _BENT))


def _in_order(tones: Floats) -> Floats:
    """Tones that never fall, halfway between the two nearest such courses."""
    upper = np.maximum.accumulate(tones)
    lower = np.minimum.accumulate(tones[::-1])[::-1]
    return np.asarray((upper + lower) / 2)
