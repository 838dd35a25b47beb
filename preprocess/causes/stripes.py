"""Stripes: the strongest straight wave in a map, such as the lines of the print."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import minimize

if TYPE_CHECKING:
    from preprocess.arrays import Floats
    from preprocess.causes.marked_places import MarkedPlaces

LONGEST, SHORTEST = 2.8, 0.45
"""Distance from line to line, mm: what nozzles print."""

_ANGLES = 60
_BIN = 0.1
"""mm across the lines."""

_ABOVE = 6.0
"""Times that a wave stands above the usual one of a map before it is no chance."""


@dataclass(frozen=True, slots=True)
class Stripes:
    """A wave across the part: mm from line to line, its direction of travel in degrees, rms."""

    apart: float
    across: float
    rms: float

    def waves(self, places: MarkedPlaces) -> Floats:
        """Cosine and sine of the wave, places × 2."""
        return _waves(places, 1 / self.apart, np.radians(self.across))


def strongest_stripes(places: MarkedPlaces, rest: Floats) -> Stripes | None:
    """The strongest wave of what is left of the tone; None where none stands out."""
    frequencies = _frequencies(places)
    angles = np.pi * np.arange(_ANGLES) / _ANGLES
    power = np.array([_spectrum(places, rest, angle, frequencies) for angle in angles])
    at = np.unravel_index(int(np.argmax(np.round(power, 12))), power.shape)
    first = frequencies[at[1]], angles[at[0]]
    found = minimize(
        lambda at: -_explained(places, rest, *at),
        first,
        method="Nelder-Mead",
        options={"initial_simplex": _around(*first, frequencies), "maxiter": 60},
    )
    frequency, angle = found.x.tolist()
    rms = float(np.sqrt(_explained(places, rest, frequency, angle)))
    usual = float(np.sqrt(np.median(power)))
    if rms * np.sqrt(0.5) < _ABOVE * usual or not 1 / LONGEST <= frequency <= 1 / SHORTEST:
        return None
    return Stripes(1 / frequency, float(np.degrees(angle)) % 180, rms)


def _frequencies(places: MarkedPlaces) -> Floats:
    size = max(float(np.ptp(places.x)), float(np.ptp(places.y)), 4.0)
    return np.arange(1 / LONGEST, 1 / SHORTEST, 0.4 / size)


def _spectrum(places: MarkedPlaces, rest: Floats, angle: float, frequencies: Floats) -> Floats:
    """Squared amplitude by frequency, of sums over bins across the lines."""
    across = places.x * np.cos(angle) + places.y * np.sin(angle)
    number = np.round((across - across.min()) / _BIN).astype(np.int64)
    sums = np.bincount(number, rest)
    phase = 2 * np.pi * _BIN * np.outer(frequencies, np.arange(len(sums)))
    return np.asarray(np.abs(np.exp(-1j * phase) @ sums) ** 2 / len(rest) ** 2)


def _around(frequency: float, angle: float, frequencies: Floats) -> Floats:
    step = float(frequencies[1] - frequencies[0])
    turn = np.pi / _ANGLES / 2
    return np.array([[frequency, angle], [frequency + step, angle], [frequency, angle + turn]])


def _waves(places: MarkedPlaces, frequency: float, angle: float) -> Floats:
    across = places.x * np.cos(angle) + places.y * np.sin(angle)
    phase = 2 * np.pi * frequency * across
    return np.column_stack([np.cos(phase), np.sin(phase)])


def _explained(places: MarkedPlaces, rest: Floats, frequency: float, angle: float) -> float:
    """The mean square that the wave explains."""
    waves = _waves(places, frequency, angle)
    found = waves @ np.linalg.lstsq(waves, rest, rcond=None)[0]
    return float(found @ found) / len(rest)
