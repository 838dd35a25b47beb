"""The reference patch: the heat index is 1 there."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from shapely import MultiLineString, MultiPolygon, box

from preprocess.geometry.rows.hatching import Hatching, hatch_areas
from preprocess.marking.job.plan import plan_of
from preprocess.marking.job.schedule import schedule_of
from preprocess.marking.solver.exposures import exposures_of
from preprocess.marking.solver.field.heat_solver import solve_heat
from preprocess.model.artwork.artwork import Artwork, Page
from preprocess.model.artwork.settings import Direction, Layer, Operation, Settings
from preprocess.model.artwork.shape import Shape

if TYPE_CHECKING:
    from preprocess.marking.solver.thermal_medium import ThermalMedium
    from preprocess.model.bench.filament import OwnRowsReference, Reference
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


@lru_cache(maxsize=8)
def own_rows_peaks(
    medium: ThermalMedium, machine: Machine, step: float
) -> tuple[tuple[float, ...], float]:
    """The same of the patch of own rows, over all of its rounds.

    Where the plastic has none, it is that of the swept patch.
    """
    wanted = medium.own_rows
    if wanted is None:
        return reference_peaks(medium, machine, step)
    plan = plan_of(_own_rows_artwork(wanted), machine)
    exposures = exposures_of(plan, schedule_of(plan, machine), medium.watts, None)
    fields = solve_heat(exposures, medium, step)
    spikes = np.concatenate([field.spike[field.lit] for field in fields])
    peaks = tuple(
        float(np.median(np.concatenate([field.peaks[n][field.lit] for field in fields])))
        for n in range(len(medium.spreads))
    )
    return peaks, float(np.median(spikes))


def _own_rows_artwork(wanted: OwnRowsReference) -> Artwork:
    rows = Hatching(
        angle=0.0,
        first=wanted.pitch / 2,
        pitch=wanted.pitch,
        count=max(1, round(wanted.size[1] / wanted.pitch)),
        every=wanted.rounds,
        two_way=wanted.direction is Direction.TWO_WAY,
    )
    (lines,) = hatch_areas([MultiPolygon([box(0, 0, *wanted.size)])], rows)
    settings = Settings(power=wanted.power, speed=wanted.speed, repeats=1)
    return _alone(lines, Operation.SCORE, settings, wanted.size)


def _artwork(wanted: Reference) -> Artwork:
    settings = Settings(
        power=wanted.power,
        speed=wanted.speed,
        pitch=wanted.pitch,
        direction=wanted.direction,
        angle=0.0,
        repeats=1,
    )
    square = MultiPolygon([box(0, 0, *wanted.size)])
    return _alone(square, Operation.ENGRAVE, settings, wanted.size)


def _alone(
    drawn: MultiPolygon | MultiLineString,
    operation: Operation,
    settings: Settings,
    size: tuple[float, float],
) -> Artwork:
    """One shape alone on its page."""
    shape = Shape(
        id="reference", layer="reference", operation=operation, geometry=drawn, sources=()
    )
    layer = Layer(name="reference", operation=None, settings={operation: settings})
    return Artwork(page=Page(width=size[0], height=size[1]), shapes=(shape,), layers=(layer,))
