"""From artwork to strikes and solved fields, on the plastics that the heat model was studied on."""

import dataclasses

import numpy as np

from preprocess.marking.job.plan import plan_of
from preprocess.marking.job.schedule import schedule_of
from preprocess.marking.solver.exposures import Exposure, exposures_of
from preprocess.marking.solver.field.heat_solver import solve_heat
from preprocess.marking.solver.kernels import Solid
from preprocess.marking.solver.thermal_medium import ThermalMedium
from preprocess.model.artwork.settings import Direction
from preprocess.model.bench.filament import Reference, Window
from preprocess.model.bench.machine import Machine
from tests.marking.drawn import ENGRAVED, artwork, shape

GALVO = Machine(turnaround=1.2e-3, fly_back=2500.0)


def plastic(*, sigma=0.02, depth=0.05, spread=0.3, watts=0.9, thickness=None):
    """PLA; 0.9 W are absorbed at 100 %."""
    return ThermalMedium(
        solid=Solid(depth=depth, thickness=thickness),
        sigma=sigma,
        spread=spread,
        watts=watts,
        reference=Reference(),
        window=Window(),
    )


SHARP, DIFFUSE = plastic(), plastic(sigma=0.1, depth=0.1)


def settings(speed=300.0, *, two_way=True, power=1.0, pitch=0.1, **more):
    direction = Direction.TWO_WAY if two_way else Direction.ONE_WAY
    return dataclasses.replace(
        ENGRAVED, speed=speed, power=power, pitch=pitch, direction=direction, **more
    )


def struck(art, body=None, *, machine=GALVO, watts=0.9):
    """All strikes of an artwork (or of one bare shape at 300 mm/s) on a body."""
    planned = plan_of(art, machine)
    return exposures_of(planned, schedule_of(planned, machine), watts, body)


def solved(geometry, stuff=SHARP, *, step=0.1, machine=GALVO, **how):
    """The field of one shape that is swept by itself, or together with its pieces."""
    art = artwork(shape(geometry), settings=settings(**how))
    (field,) = solve_heat(struck(art, machine=machine, watts=stuff.watts), stuff, step)
    return field


def at(field, u, v, what="peak"):
    """The value of a field at the cell that holds a point of the row frame."""
    row = abs(field.exposure.y - v).argmin()
    column = int((u - field.columns.left) / field.columns.step)
    assert field.lit[row, column]
    return float(getattr(field, what)[row, column])


def exposure_of_runs(runs, pitch=0.1, speed=300.0):
    """One exposure of given runs (row, start, end in mm), one way, without time for the turns."""
    rows = sorted({row for row, _, _ in runs})
    start = np.array([run[1] for run in runs])
    end = np.array([run[2] for run in runs])
    return Exposure(
        step=0,
        repeat=0,
        angle=0.0,
        pitch=pitch,
        speed=speed,
        energy=1e-3,
        y=pitch * np.array(rows, float),
        at=np.arange(len(rows), dtype=float),
        forward=np.ones(len(rows), bool),
        row=np.array([rows.index(row) for row, _, _ in runs]),
        start=start,
        end=end,
        entered=np.array([float(rows.index(row)) + u / speed for row, u, _ in runs]),
    )
