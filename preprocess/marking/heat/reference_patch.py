"""The reference patch: the heat index is 1 there."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from shapely import MultiPolygon, box

from preprocess.marking.job.plan import plan_of
from preprocess.marking.job.schedule import schedule_of
from preprocess.marking.solver.exposures import exposures_of
from preprocess.marking.solver.field.heat_solver import solve_heat
from preprocess.model.artwork.artwork import Artwork, Page
from preprocess.model.artwork.settings import Layer, Operation, Settings
from preprocess.model.artwork.shape import Shape

if TYPE_CHECKING:
    from preprocess.marking.solver.thermal_medium import ThermalMedium
    from preprocess.model.bench.filament import Reference
    from preprocess.model.bench.machine import Machine


def reference_peak(medium: ThermalMedium, machine: Machine, step: float) -> tuple[float, float]:
    """Median smoothed peak and median spike of the reference patch, marked by itself, in K."""
    peaks, spike = reference_peaks(medium, machine, step)
    return peaks[0], spike


@lru_cache(maxsize=8)
def reference_peaks(
    medium: ThermalMedium, machine: Machine, step: float
) -> tuple[tuple[float, ...], float]:
    """Median smoothed peak at each spread of the plastic, and median spike, of the patch, in K.

    The patch lies on a half-space: what it was graded on was thick, or is not known. It is kept,
    since one job asks for it many times.
    """
    plan = plan_of(_artwork(medium.reference), machine)
    exposures = exposures_of(plan, schedule_of(plan, machine), medium.watts, None)
    (field,) = solve_heat(exposures, medium, step)
    peaks = tuple(float(np.median(peak[field.lit])) for peak in field.peaks)
    return peaks, float(np.median(field.spike[field.lit]))


def _artwork(wanted: Reference) -> Artwork:
    settings = Settings(
        power=wanted.power,
        speed=wanted.speed,
        pitch=wanted.pitch,
        direction=wanted.direction,
        angle=0.0,
        repeats=1,
    )
    square = Shape(
        id="reference",
        layer="reference",
        operation=Operation.ENGRAVE,
        geometry=MultiPolygon([box(0, 0, *wanted.size)]),
        sources=(),
    )
    layer = Layer(name="reference", operation=None, settings={Operation.ENGRAVE: settings})
    page = Page(width=wanted.size[0], height=wanted.size[1])
    return Artwork(page=page, shapes=(square,), layers=(layer,))
