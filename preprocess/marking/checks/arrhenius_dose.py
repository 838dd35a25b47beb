"""The smoothed dose: a second opinion on how visible the difference between two places is.

It is the time integral of an Arrhenius rate over the row-smoothed temperature, ∫ k(T) dt with
k(T) = A exp(−E/RT). E = 105 kJ/mol is in the range published for the decomposition of PLA
(Alhulaybi et al., Polymers 15 (2022) 12; Bernardes et al., Polymers 15 (2023) 4324); A follows from
a peak at 367 °C at 10 K/min (Kissinger's relation). That such rates hold for milliseconds is not
verified by anything: use ratios between places only.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.geometry.base.row_frame import change_angle
from preprocess.marking.heat.superposition import smoothed_rise, visit_times

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.arrays import Floats
    from preprocess.marking.solver.exposures import Exposure
    from preprocess.marking.solver.thermal_medium import ThermalMedium


_RATE = 1.9e6
"""1/s."""

_ENERGY = 105e3
"""J/mol."""

_GAS = 8.314462618
"""J/mol/K."""

_ROOM = 298.15
"""K."""

_BESIDE = 8.0
"""Deviations of a smoothed row, in which the beam's visits to other rows are told apart."""

_BETWEEN = 8
"""Times looked at between two visits, closer together at first."""

_AFTER = 30.0
"""s after the last visit, by when nothing is added any more."""


def smoothed_dose(
    exposures: Sequence[Exposure],
    medium: ThermalMedium,
    points: Sequence[tuple[float, float]],
    angle: float = 0.0,
) -> Floats:
    """The dose (without unit) at a few points of the row frame of `angle` (mm)."""
    return np.array([_dose(exposures, medium, point, angle) for point in points])


def _dose(
    exposures: Sequence[Exposure], medium: ThermalMedium, point: tuple[float, float], angle: float
) -> float:
    times = _times(exposures, medium, point, angle)
    if not len(times):
        return 0.0
    kelvin = _ROOM + smoothed_rise(exposures, medium, point, angle, times)
    rate = _RATE * np.exp(-_ENERGY / (_GAS * kelvin))
    return float(np.sum((rate[1:] + rate[:-1]) / 2 * np.diff(times)))


def _times(
    exposures: Sequence[Exposure], medium: ThermalMedium, point: tuple[float, float], angle: float
) -> Floats:
    """Just after each visit near the point, and at growing intervals until the next one."""
    reach = _BESIDE * float(np.sqrt(medium.sigma**2 + medium.smooth))
    visits = []
    for exposure in exposures:
        u, v = change_angle(*point, angle, exposure.angle)
        away_v = np.abs(exposure.y[exposure.row] - v)
        away_u = np.maximum(0, np.maximum(exposure.start - u, u - exposure.end))
        visits.append(visit_times(exposure, u)[(away_v < reach) & (away_u < reach)])
    times = np.unique(np.concatenate(visits)) if visits else np.empty(0)
    if not len(times):
        return times
    gaps = np.append(np.diff(times), _AFTER)
    shares = np.concatenate([[1e-9], np.geomspace(1e-3, 1 - 1e-9, _BETWEEN)])
    return np.asarray((times[:, None] + gaps[:, None] * shares).ravel())
