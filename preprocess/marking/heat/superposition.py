"""Temperature rise at single points by superposition over all runs: slow, exact in local time.

A row that the beam has only just reached counts as when it is hottest (see `kernels.own_row`).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.geometry.base.row_frame import change_angle
from preprocess.marking.solver.kernels import own_row

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.arrays import Floats
    from preprocess.marking.solver.exposures import Exposure
    from preprocess.marking.solver.thermal_medium import ThermalMedium


_AT_ONCE = 500_000
"""Pairs of time and run that are worked on together."""


def visit_times(exposure: Exposure, u: float) -> Floats:
    """Time when the beam passes u on each run, or the run's nearest point to it, s."""
    near = np.clip(u, exposure.start, exposure.end)
    forward = exposure.forward[exposure.row]
    way = np.where(forward, near - exposure.start, exposure.end - near)
    return np.asarray(exposure.entered + way / exposure.speed)


def smoothed_rise(
    exposures: Sequence[Exposure],
    medium: ThermalMedium,
    point: tuple[float, float],
    angle: float,
    times: Floats,
) -> Floats:
    """Row-smoothed rise (K) at a point of the frame of `angle` (mm), at each of some times (s)."""
    total = np.zeros(len(times))
    for exposure in exposures:
        u, v = change_angle(*point, angle, exposure.angle)
        energies = exposure.energies
        visited, y = visit_times(exposure, u), exposure.y[exposure.row]
        own = own_row(medium.solid, medium.sigma, (medium.smooth,), exposure.speed)
        some = max(1, _AT_ONCE // max(1, len(times)))
        for first in range(0, len(y), some):
            part = slice(first, first + some)
            age = times[:, None] - visited[None, part]
            kelvin = medium.solid.run(
                energies[part],
                (exposure.start[part], exposure.end[part]),
                (u, v - y[part]),
                np.maximum(age, own.lag),
                sigma=medium.sigma,
                smooth=medium.smooth,
            )
            kelvin = np.where(age <= own.lag, kelvin * own.smoothed[0], kelvin)
            total += np.where(age >= 0, kelvin, 0.0).sum(axis=1)
    return total
