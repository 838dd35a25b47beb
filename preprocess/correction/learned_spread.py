"""The spread that a marked part shows: the one at which predicted heat follows the measured best.

Each spread is weighed over all slopes of the tone, whose priors are normal, so that the integral is
exact. Slow errors of a photo, some 0.5 ΔL* over some 4 mm, count once in each such patch. Where the
part tells little, the believed spread stays.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Mapping

    from preprocess.arrays import Floats

TRIED = tuple(2 ** (n / 2) for n in range(-4, 5))
"""Spreads over the believed one whose heat is predicted; others lie in between."""

_BETWEEN = 6
"""Steps from one of them to the next."""

_USUAL = 0.6
"""Standard deviation of the logarithm of a filament's spread over the believed one."""

_ERROR, _PATCH = 0.5, 4.0
"""Slow error of the measured heat, ΔL*, and the side of the square that shares it, mm."""

_FEWEST = 4.0
"""Such squares that a part counts for at least."""

_MODEL = 0.12
"""Standard deviation of the logarithm of a shown spread that no part takes away: plastic conducts
better or worse than believed."""

_NINETY = 1.645
"""Standard deviations to both sides of an interval that holds in 90 of 100 cases."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ToneSlope:
    """ΔL* for each e-fold of heat, and its standard deviation as a share of it."""

    value: float
    sd: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LearnedSpread:
    """Spreads (mm): the believed one, and the one that a part shows; with the slope of its tone.

    `sd` is the standard deviation of the logarithm of the shown one.
    """

    believed: float
    shown: float
    slope: float
    sd: float

    def interval(self, spread: float) -> tuple[float, float]:
        """Ends (mm) that hold the right spread in 90 of 100 cases, if this one is shown."""
        factor = float(np.exp(_NINETY * self.sd))
        return spread / factor, spread * factor


def learned_spread(
    heat: Floats, logs: Mapping[float, Floats], believed: float, slope: ToneSlope, area: float
) -> LearnedSpread:
    """Weigh spreads against the heat that was measured.

    Args:
        heat: ΔL* that heat adds at each place.
        logs: logarithms of the predicted index at the same places, by spread (mm).
        believed: the spread of the recipe's filament, mm.
        slope: what is known of the tone's slope.
        area: measured area, mm².
    """
    spreads = np.array(sorted(logs))
    held = heat - heat.mean()
    known = np.stack([logs[spread] - logs[spread].mean() for spread in spreads.tolist()])
    sizes, along = known @ known.T / len(held), known @ held / len(held)
    fine = np.linspace(0, len(spreads) - 1, _BETWEEN * (len(spreads) - 1) + 1)
    mixing = np.maximum(1 - np.abs(fine[:, None] - np.arange(len(spreads))), 0.0)
    size, with_heat = np.einsum("ni,ij,nj->n", mixing, sizes, mixing), mixing @ along
    away = mixing @ np.log(spreads / believed)
    sure = max(area / _PATCH**2, _FEWEST) / _ERROR**2
    prior = 1 / (slope.sd * slope.value) ** 2
    precision, pull = sure * size + prior, sure * with_heat + prior * slope.value
    score = 0.5 * pull**2 / precision - 0.5 * np.log(precision) - 0.5 * (away / _USUAL) ** 2
    weight = np.exp(score - score.max())
    weight = weight / weight.sum()
    middle = float(weight @ away)
    return LearnedSpread(
        believed=believed,
        shown=believed * float(np.exp(middle)),
        slope=float(weight @ (pull / precision)),
        sd=float(np.hypot(np.sqrt(weight @ (away - middle) ** 2), _MODEL)),
    )
