"""Constants of the closed form of heat, as the page evaluates it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from preprocess.marking.heat.effort import column_step
from preprocess.marking.heat.index import part_thickness, spread_interval
from preprocess.marking.heat.reference_patch import own_rows_peaks, reference_peaks
from preprocess.marking.job.plan import LineWork
from preprocess.marking.solver.kernels import own_row
from preprocess.marking.solver.thermal_medium import thermal_medium_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    from preprocess.marking.job.plan import RasterGroup
    from preprocess.marking.solver.kernels import Solid
    from preprocess.marking.solver.thermal_medium import ThermalMedium
    from preprocess.model.bench.bench import Bench

YOUNGEST, OLDEST, ENTRIES = 1e-6, 1e5, 512
"""Ages in s between which the factor in depth is tabled, evenly in their logarithm."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HeatConstants:
    """The medium of a job, and its parts as solids by their thickness (mm; None is endless).

    `swept` and `traced` are the peaks (K) of the patches that the index counts against, the second
    one for rows that are drawn as lines.
    """

    medium: ThermalMedium
    solids: dict[float | None, Solid]
    swept: float
    traced: float

    def scale(self, step: RasterGroup | LineWork, speed: float) -> float:
        """Index of 1 K at a place that is marked at a speed (mm/s)."""
        drawn = isinstance(step, LineWork)
        patch = (self.medium.own_rows if drawn else None) or self.medium.reference
        correction = (speed / patch.speed) ** self.medium.speed_correction
        return correction / (self.traced if drawn else self.swept)

    def own_rows(self, speed: float) -> list[tuple[float, float]]:
        """In each solid, when a row is hottest after the beam's visit (s), and over local time."""
        medium = self.medium
        own = (
            own_row(solid, medium.sigma, (medium.smooth,), speed) for solid in self.solids.values()
        )
        return [(one.lag, one.smoothed[0]) for one in own]

    def facts(self) -> dict[str, Any]:
        """The constants for the head of the block."""
        ages = np.geomspace(YOUNGEST, OLDEST, ENTRIES)
        solid, solids = self.medium.solid, self.solids.values()
        return {
            "alpha": solid.alpha,
            "strength": 1 / solid.capacity,
            "beam": self.medium.sigma**2,
            "smooth": self.medium.smooth,
            "ages": [YOUNGEST, OLDEST],
            "solids": [[float(f"{g:.5g}") for g in one.depth_factor(ages)] for one in solids],
            "scale": 1 / self.swept,
        }


def heat_constants(
    bench: Bench, parts: Iterable[int], steps: Iterable[RasterGroup | LineWork]
) -> HeatConstants:
    """Constants of a job.

    Args:
        bench: machine, filament, parts.
        parts: how many parts each of its artworks has; none: all lies on one of no known outline.
        steps: all that is swept or traced.
    """
    machine = bench.machine_or_default
    medium = thermal_medium_of(bench.filament, machine)
    medium = replace(medium, other_spreads=spread_interval(medium))
    wide = column_step(medium)
    thick = dict.fromkeys(one for count in parts for one in thicknesses(bench, count))
    swept = reference_peaks(medium, machine, wide)[0][0]
    lines = any(isinstance(step, LineWork) for step in steps)
    return HeatConstants(
        medium=medium,
        solids={one: replace(medium.solid, thickness=one) for one in thick},
        swept=swept,
        traced=own_rows_peaks(medium, machine, wide)[0][0] if lines else swept,
    )


def thicknesses(bench: Bench, parts: int) -> list[float | None]:
    """The thickness of each part, mm; of one that is not known where there are none."""
    bodies = max(1, parts)
    return [part_thickness(bench, part, bodies) for part in range(bodies)]
