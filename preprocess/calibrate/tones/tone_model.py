"""The model of tones: a curve that levels off, over the heat of each place; and its errors.

Parameters of a filament, with wide priors where other filaments are known:

    speed      c, the exponent of the speed in the heat index
    spread     its logarithm, mm
    depth      optical depth, its logarithm, mm
    conducts   logarithm of conductivity over that of the polymer
    darkest    logarithm of the greatest tone over the greatest measured one
    middle     logarithm of the heat at which the tone is half way
    width      of the curve, its logarithm
    skew       of the curve, its logarithm
    bumps      what the curve departs from this form by, as shares of the greatest tone
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from scipy.linalg import cholesky, solve_triangular

from preprocess.calibrate.heat.cell_heat import USUAL_DEPTH, USUAL_SPREAD
from preprocess.calibrate.tones.heat_table import table_weights
from preprocess.calibrate.tones.toned_places import BETTER_CONDUCTOR

if TYPE_CHECKING:
    from preprocess.arrays import Floats
    from preprocess.calibrate.tones.toned_places import TonedPlaces

SPEED, SPREAD, DEPTH, CONDUCTS, DARKEST, MIDDLE, WIDTH, SKEW = range(8)

BUMPS = np.array([-0.75, -0.45, -0.15, 0.15, 0.45, 0.75])
"""Where the curve may depart from its form: log heat from the middle on."""

_BUMP = 0.2
"""How long a bump is, in log heat."""

TONE_PRIOR = np.array(
    [
        (0.15, 0.25),
        (np.log(USUAL_SPREAD), 0.7),
        (np.log(USUAL_DEPTH), 0.8),
        (0.0, 0.15),
        (0.1, 0.3),
        (0.0, 0.6),
        (np.log(0.3), 0.5),
        (0.0, 0.5),
        *[(0.0, 0.03)] * len(BUMPS),
    ]
)
"""Mean and standard deviation; the middle is counted from the median heat of the places. Speed,
spread and depth have the priors of the grades."""

_GRAIN = 0.02
"""Noise of the mark itself from cell to cell, as a share of the greatest tone."""

_SLOW = ((0.012, 10.0),)
"""Slow errors along a blade, of light and of the model: share of the greatest tone, and mm."""

_BLADE = 0.008
"""Error that a whole blade shares, as a share of the greatest tone."""

_PHOTOS = 1.0
"""ΔL* by which the tones of two photos differ as a whole."""

_FURTHEST = 40.0

_STEADY, _ENOUGH = 0.1, 12
"""mm² by which steps along a blade may differ, and places for a measure of noise."""

_SD_OF_MEDIAN = 1.4826
"""Standard deviation over median absolute value, of a normal distribution."""


@dataclass(frozen=True)
class ToneModel:
    """Tones with the heat of their places. `scale` is the greatest tone, with its sign, ΔL*."""

    places: TonedPlaces

    @cached_property
    def scale(self) -> float:
        """The greatest tone, with its sign, ΔL*."""
        tone = self.places.tone
        sign = 1.0 if np.median(tone) > 0 else -1.0
        return sign * max(float(np.quantile(sign * tone, 0.95)), 1.0)

    @cached_property
    def start(self) -> Floats:
        """Means of the priors, with the middle at the median heat."""
        found = TONE_PRIOR[:, 0].copy()
        found[MIDDLE] = float(np.median(self.heat(found)))
        return found

    @cached_property
    def grain(self) -> float:
        """Noise of the mark from place to place, ΔL*: by second differences along blades."""
        places = self.places
        second = places.tone[:-2] - 2 * places.tone[1:-1] + places.tone[2:]
        within = (places.cell[2:] == places.cell[:-2]) & (np.diff(places.at, 2) ** 2 < _STEADY)
        within &= places.at[2:] > places.at[:-2]
        if within.sum() < _ENOUGH:
            return _GRAIN * abs(self.scale)
        return float(_SD_OF_MEDIAN * np.median(np.abs(second[within])) / np.sqrt(6))

    @cached_property
    def root(self) -> Floats:
        """Lower root of the covariance of the tones' errors."""
        places, size = self.places, abs(self.scale)
        away = np.abs(places.at[:, None] - places.at)
        same_cell = places.cell[:, None] == places.cell
        same_coupon = places.coupon[:, None] == places.coupon
        shared = _BLADE**2 + sum(
            share**2 * np.exp(-(away**2) / (2 * length**2)) for share, length in _SLOW
        )
        held = np.diag(np.maximum(places.sd, self.grain) ** 2) + same_cell * shared * size**2
        return np.asarray(cholesky(held + same_coupon * _PHOTOS**2, lower=True))

    def heat(self, values: Floats) -> Floats:
        """Log heat of each place."""
        weights = table_weights(float(values[SPREAD]), float(values[DEPTH]))
        index, conducting = (
            np.tensordot(table, weights) for table in (self.places.index, self.places.conducting)
        )
        by = values[CONDUCTS] / np.log(BETTER_CONDUCTOR)
        return np.asarray(index + by * (conducting - index) + values[SPEED] * self.places.speed)

    def tone(self, values: Floats) -> Floats:
        """ΔL* of each place."""
        return self.curve(values, self.heat(values))

    def curve(self, values: Floats, heat: Floats) -> Floats:
        """ΔL* over log heat."""
        away = (heat - values[MIDDLE]) / np.exp(values[WIDTH])
        rise = (1 + np.exp(-np.clip(away, -_FURTHEST, _FURTHEST))) ** -np.exp(values[SKEW])
        steps = (heat[:, None] - values[MIDDLE] - BUMPS) / _BUMP
        bumps = np.exp(-(steps**2) / 2) @ values[SKEW + 1 :]
        return np.asarray(self.scale * np.exp(values[DARKEST]) * (rise + bumps))

    def whitened(self, values: Floats) -> Floats:
        """What the curve leaves of the tones, of which each entry has a standard deviation of 1."""
        left = self.places.tone - self.tone(values)
        return np.asarray(solve_triangular(self.root, left, lower=True))

    def errors(self, standard: Floats) -> Floats:
        """Whitened tones, and parameters by their priors: least squares of these is the fit.

        `standard` are parameters less their priors' means, in standard deviations.
        """
        return np.concatenate([self.whitened(self.values(standard)), standard])

    def values(self, standard: Floats) -> Floats:
        """Parameters that are given in standard deviations of their priors."""
        return np.asarray(self.start + TONE_PRIOR[:, 1] * standard)
