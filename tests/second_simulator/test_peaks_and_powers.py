"""Peaks in kelvin, and solved powers, of interleaved files against the second simulator."""

from __future__ import annotations

from dataclasses import replace
from itertools import permutations

import numpy as np
import pytest

from preprocess.marking.heat.effort import column_step
from preprocess.marking.job.plan import plan_of
from preprocess.marking.job.schedule import schedule_of
from preprocess.marking.solver.exposures import exposures_of
from preprocess.marking.solver.field.heat_solver import solve_heat
from preprocess.marking.solver.thermal_medium import thermal_medium_of
from tests.second_simulator.heat import Plastic, peaks, peaks_at
from tests.second_simulator.judge import verdict
from tests.second_simulator.written import Job, written

SPREADS = 0.3, 0.15, 0.6
WATTS = 3.0
"""Absorbed at full power: 60 % of 5 W, where nothing else is known."""

EVERY = 9
"""One cell of so many is compared."""

END = 0.1
"""mm from the end of a row within which cells of one column see where the light ends."""

FORMS = ["strips", "own-rows"]
POWER, STEP, SPEED = 0.6, 0.01, 400.0

ALLOWED = {"hot": 0.035, "cold": 0.055, "seam": 0.03}
ALLOWED_AT_WORST = {"hot": 0.1, "cold": 0.11}
"""How far k colours may be off, likely and at the worst spread."""


def product_peaks(result, depth):
    """Row, place, smoothed peaks and unsmoothed spike of lit cells, as the product has them."""
    machine = result.bench.machine_or_default
    filament = replace(result.bench.filament, optical_depth=depth)
    medium = replace(thermal_medium_of(filament, machine), other_spreads=SPREADS[1:])
    plan = plan_of(result.after, machine)
    exposures = exposures_of(plan, schedule_of(plan, machine), medium.watts, None)
    for field in solve_heat(exposures, medium, column_step(medium)):
        row, column = (each[::EVERY] for each in np.nonzero(field.lit))
        places = field.exposure.y[row], field.columns.centres[column]
        yield from zip(
            *places, field.peaks[:, row, column].T, field.spike[row, column], strict=True
        )


def stretch_at(light, v, u):
    """The lit stretch that holds a place, and the place within it."""
    row = np.flatnonzero(np.abs(light.y - v) < 2e-3)
    away = np.maximum(0, np.maximum(light.a[row] - u, u - light.b[row]))
    found = int(row[np.argmin(away)])
    return found, float(np.clip(u, light.a[found], light.b[found]))


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("speed", [100.0, 400.0, 1800.0])
def test_peaks_agree_in_kelvin(speed, form):
    passes = f"[merge, {{interleave: {{form: {form}}}}}]"
    job = Job(motif="leaflet", passes=passes, speed=speed, direction="two-way")
    result, light = written(job)
    for depth in (0.02, 0.05, 0.15):
        cells = list(product_peaks(result, depth))
        assert len(cells) > 100
        at = sorted((*stretch_at(light, v, u), n) for n, (v, u, _, _) in enumerate(cells))
        stretch, x, number = (np.array(each) for each in zip(*at, strict=True))
        smoothed = np.array([cells[n][2] for n in number])
        spike = np.array([cells[n][3] for n in number])
        plastic = Plastic(depth=depth)
        theirs = WATTS * peaks_at(light, plastic, SPREADS, x, stretch)
        sharp = WATTS * peaks_at(light, plastic, (0.0,), x, stretch)[:, 0]
        off = np.abs(smoothed / theirs - 1)
        sharp_off = np.abs(spike / sharp - 1)
        inside = np.minimum(x - light.a[stretch], light.b[stretch] - x) > END
        assert np.quantile(off, 0.95, axis=0).max() < 0.01
        assert np.quantile(sharp_off, 0.95) < 0.01
        assert sharp_off[inside].max() < 0.01
        assert inside.mean() > 0.8


def strain(light, powers):
    """The figure that is farthest off, over what is allowed of it."""
    lit = replace(light, energy=np.array(powers)[light.colour] / SPEED)
    cells = peaks(lit, Plastic(), SPREADS)
    found = [verdict(lit, cells, n) for n in range(len(SPREADS))]
    likely = found[0]
    return max(
        (likely.hot - 1) / ALLOWED["hot"],
        (1 - likely.cold) / ALLOWED["cold"],
        likely.seam / ALLOWED["seam"],
        (max(one.hot for one in found) - 1) / ALLOWED_AT_WORST["hot"],
        (1 - min(one.cold for one in found)) / ALLOWED_AT_WORST["cold"],
    )


@pytest.mark.parametrize("form", FORMS)
def test_solved_powers_agree_to_a_step_of_the_machine(form):
    """Moving a step from one colour to another gains less than what a step does to the heat."""
    passes = f"[merge, {{interleave: {{form: {form}}}}}, solve-power]"
    _, light = written(Job(motif="leaflet", passes=passes, direction="two-way", speed=SPEED))
    assert set(light.colour.tolist()) == {0, 1, 2, 3}
    powers = np.array([light.energy[light.colour == n][0] * SPEED for n in range(4)])
    assert powers / STEP == pytest.approx(np.round(powers / STEP))
    assert np.exp(np.log(powers).mean()) == pytest.approx(POWER, abs=0.51 * STEP)
    solved, one = strain(light, powers), STEP * np.eye(4)
    others = [strain(light, powers + one[a] - one[b]) for a, b in permutations(range(4), 2)]
    assert solved - min(others) < STEP / POWER / ALLOWED["hot"]
    assert solved < 2 / 3 * strain(light, np.full(4, POWER))
