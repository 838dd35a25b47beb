"""Ordinal regression: a cumulative logit of the heat, with ordered thresholds and wide priors.

A judge sees `weak` below a threshold on the logarithm of the heat, `even` above it, then `heavy`
and `molten`. Each grade has noise, and a few are lapses. The parameters:

    middle   of the even band, logarithm of K at the middle speed
    half     half the width of the band, its logarithm
    beyond   from heavy to molten, its logarithm
    noise    of the judge, its logarithm
    speed    c, the exponent of the speed in the heat index
    spread   its logarithm, mm
    depth    optical depth, its logarithm, mm
    drift    of the judge from the first cell of a table to the last
    turn     of the judge, or of the plates, from the first coupon to the last
    bend     curvature of the middle over the logarithm of speed
    spike    weight of the direct spike beside the heat index
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import expit

from preprocess.calibrate.heat.cell_heat import USUAL_DEPTH, USUAL_SPREAD, polynomial_terms
from preprocess.coupon.design.model import Grade

if TYPE_CHECKING:
    from preprocess.arrays import Floats, Integers


MIDDLE, HALF, BEYOND, NOISE, SPEED, SPREAD, DEPTH, DRIFT, COUPON_DRIFT, CURVATURE, SPIKE_SHARE = (
    range(11)
)
_BY_TONES = [SPEED, SPREAD, DEPTH]

GRADE_ORDER = tuple(str(grade) for grade in Grade)

LAPSE_RATE = 0.05
"""Share of grades that are lapses of the judge: at random."""

PRIOR = np.array(
    [
        (0.0, 1.5),
        (np.log(np.log(1.2 / 0.85) / 2), 0.5),
        (np.log(0.3), 0.5),
        (np.log(0.05), 0.6),
        (0.15, 0.25),  # the exponent of P ~ v^n is about 0.9 without it: 0.3 to 1.1 with it
        (np.log(USUAL_SPREAD), 0.7),
        (np.log(USUAL_DEPTH), 0.8),
        *[(0.0, 1.0)] * 4,
    ]
)
"""Mean and standard deviation; the middle is counted from the mean heat of the cells."""

EFFECT_SCALES = np.array([0.06, 0.05, 0.04, 0.08])
"""Usual sizes of drift, turn, bend and spike. Each is `size * sinh(z)` with a standard normal z:
most are small, a few are large."""


def scaled_effect(values: Floats, which: int) -> Floats:
    """Drift, turn, bend or weight of the spike, by sample."""
    return np.asarray(EFFECT_SCALES[which - DRIFT] * np.sinh(np.clip(values[:, which], -5, 5)))


@dataclass(frozen=True, slots=True)
class ToldByTones:
    """What tones told before any grade: mean of speed, spread and depth, and its precision."""

    mean: Floats
    precision: Floats


@dataclass(frozen=True, slots=True)
class OrdinalRegression:
    """Grades with the heat of their cells; one entry for each observation.

    `index` and `spike` are rows of coefficients (see `HeatResponse`). `speed` is the logarithm of
    mm/s, from the middle speed on. `order` runs from -0.5 to 0.5 over one table, `turn` over the
    coupons. `grade` is 0 for weak to 3 for molten. `told` stands in for the priors of speed, spread
    and depth where tones were measured.
    """

    index: Floats
    spike: Floats
    speed: Floats
    order: Floats
    turn: Floats
    grade: Integers
    told: ToldByTones | None = None

    @property
    def start(self) -> Floats:
        """Means of the priors, with the middle at that of the cells."""
        means = PRIOR[:, 0].copy()
        if self.told is not None:
            means[_BY_TONES] = self.told.mean
        means[MIDDLE] = float(np.mean(self.heat(means[None])))
        return means

    def heat(self, values: Floats) -> Floats:
        """Log heat of each cell as the judge sees it, samples × observations."""
        terms = heat_terms(values)
        return (
            terms @ self.index.T
            + scaled_effect(values, SPIKE_SHARE)[:, None]
            * (terms @ (self.spike - self.index).T - self.above)
            + values[:, [SPEED]] * self.speed
            + np.outer(scaled_effect(values, DRIFT), self.order)
            + np.outer(scaled_effect(values, COUPON_DRIFT), self.turn)
            + np.outer(scaled_effect(values, CURVATURE), self.speed**2 - np.mean(self.speed**2))
        )

    @property
    def above(self) -> float:
        """Mean logarithm of spike over index, for usual spread and depth."""
        return float(np.mean(heat_terms(PRIOR[None, :, 0]) @ (self.spike - self.index).T))

    def grade_probabilities(self, values: Floats) -> Floats:
        """Probability of each grade, samples × observations × 4."""
        return grade_probabilities(self.heat(values), values)

    def likelihood(self, values: Floats) -> Floats:
        """Log likelihood of the grades, by sample."""
        every = self.grade_probabilities(values)
        mine = np.take_along_axis(every, self.grade[None, :, None], axis=2)[:, :, 0]
        return np.log(mine).sum(axis=1)

    def posterior(self, values: Floats) -> Floats:
        """Log posterior density up to a constant, by sample."""
        away = values - self.start
        squares = (away / PRIOR[:, 1]) ** 2
        if self.told is not None:
            some = away[:, _BY_TONES]
            squares[:, _BY_TONES] = 0.0
            squares[:, SPREAD] = ((some @ self.told.precision) * some).sum(axis=1)
        return self.likelihood(values) - 0.5 * squares.sum(axis=1)


def heat_terms(values: Floats) -> Floats:
    """Terms of spread and depth, by sample."""
    return polynomial_terms(values[:, SPREAD], values[:, DEPTH])


def thresholds(values: Floats) -> Floats:
    """Upper ends of weak, even and heavy, log heat, samples × 3."""
    half = np.exp(np.minimum(values[:, HALF], 3.0))
    weak, heavy = values[:, MIDDLE] - half, values[:, MIDDLE] + half
    return np.stack([weak, heavy, heavy + np.exp(np.minimum(values[:, BEYOND], 3.0))], axis=1)


def grade_probabilities(heat: Floats, values: Floats) -> Floats:
    """Probability of each grade at some heats, samples × heats × 4."""
    noise = np.exp(values[:, NOISE])[:, None, None]
    below = expit((thresholds(values)[:, None, :] - heat[:, :, None]) / noise)
    edges = np.concatenate([np.zeros((*heat.shape, 1)), below, np.ones((*heat.shape, 1))], axis=2)
    return (1 - LAPSE_RATE) * np.diff(edges, axis=2) + LAPSE_RATE / len(GRADE_ORDER)
