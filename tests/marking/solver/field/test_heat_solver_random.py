"""Random jobs: layers, angles, pitches, repeats, bars, parts, both movers, both gap rules."""

import dataclasses

import numpy as np
import pytest
import shapely
from shapely import Point, box
from shapely.affinity import rotate

from preprocess.marking.heat.effort import Effort
from preprocess.marking.heat.heat_findings import heat_findings
from preprocess.marking.heat.index import heat_index_of_plan
from preprocess.marking.heat.layer_power import layer_powers
from preprocess.marking.job.plan import plan_of
from preprocess.marking.job.schedule import schedule_of
from preprocess.marking.solver.field.heat_solver import solve_heat
from preprocess.model.artwork.settings import Direction
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.machine import FirstRow, Gaps, Machine, Mover, RasterGroups
from tests.marking.brute import peak
from tests.marking.drawn import ENGRAVED, area_of, artwork, shape, triangle
from tests.marking.struck import SHARP, struck

PARTS = [area_of(box(-1, -1, 8, 9)), area_of(box(8.5, -1, 18, 18))]


def any_of(rng, choices):
    return list(choices)[rng.integers(len(list(choices)))]


def any_shape(rng, number):
    x, y = rng.uniform(0, 12, 2)
    kind = rng.integers(4)
    if kind == 0:
        area = Point(x, y).buffer(rng.uniform(0.05, 3), quad_segs=int(rng.integers(1, 12)))
    elif kind == 1:
        area = box(x, y, x + rng.uniform(0.02, 8), y + rng.uniform(0.02, 5))
    elif kind == 2:
        area = rotate(triangle(x, y, rng.uniform(1, 8), rng.uniform(1, 8)), rng.uniform(0, 360))
    else:
        area = shapely.union_all([box(x + i, y, x + i + 0.3, y + 2) for i in range(4)])
    bars = area_of(box(-4, y, -2, y + 2)) if rng.random() < 0.3 else None
    return shape(area_of(area), any_of(rng, "abc"), name=f"shape-{number}", bars=bars)


def any_settings(rng):
    return dataclasses.replace(
        ENGRAVED,
        power=float(rng.uniform(0.1, 1)),
        speed=any_of(rng, (50.0, 300.0, 1500.0)),
        pitch=any_of(rng, (0.05, 0.1, 0.13, 0.3)),
        angle=any_of(rng, (0.0, 0.0, 90.0, 45.0, 17.0)),
        repeats=int(rng.integers(1, 3)),
        direction=any_of(rng, Direction),
    )


def any_machine(rng):
    return Machine(
        turnaround=any_of(rng, (0.0, 1e-3)),
        fly_back=any_of(rng, (None, 2000.0)),
        gaps=any_of(rng, Gaps),
        mover=any_of(rng, Mover),
        acceleration=3000.0,
        raster_groups=any_of(rng, RasterGroups),
        first_row=any_of(rng, FirstRow),
    )


def any_job(seed):
    rng = np.random.default_rng(seed)
    shapes = [any_shape(rng, n) for n in range(rng.integers(1, 6))]
    settings = {layer: any_settings(rng) for layer in "abc"}
    parts = PARTS if rng.random() < 0.5 else []
    return artwork(*shapes, settings=settings, parts=parts), any_machine(rng), rng


@pytest.mark.parametrize("seed", range(12))
def test_a_random_job_agrees_with_superposition(seed):
    art, machine, rng = any_job(seed)
    every = struck(art, art.parts[0] if art.parts else None, machine=machine)
    for field in solve_heat(every, SHARP, 0.1):
        before = [s for s in every if s.begins <= field.exposure.begins]
        rows, columns = np.nonzero(field.lit)
        n = rng.integers(len(rows))
        row, column = rows[n], columns[n]
        u, v = field.columns.centres[column], field.exposure.y[row]
        mine = field.exposure.row == row
        lit = (field.exposure.start[mine] <= u - 0.049) & (field.exposure.end[mine] >= u + 0.049)
        if lit.any():  # a run shorter than a column is no case for a point in its middle
            wanted = peak(before, field.exposure, SHARP, (u, v))
            assert field.peak[row, column] == pytest.approx(wanted, rel=0.025)


@pytest.mark.parametrize("seed", range(100, 112))
def test_a_random_job_is_predicted_and_summed_up_without_fail(seed):
    art, machine, _ = any_job(seed)
    planned = plan_of(art, machine)
    timed = schedule_of(planned, machine)
    bench = Bench(machine=machine)
    found = heat_index_of_plan(planned, timed, art, bench, effort=Effort.PREVIEW)
    for patch in found.images:
        assert np.isfinite(patch.index[patch.lit]).all()
        assert (patch.index[patch.lit] > 0).all()
    assert found.unknown == ()
    assert timed.total >= sum(layer.lasts for layer in timed.layers) - 1e-9
    powers = layer_powers(found, planned, timed, art, bench)
    for finding in heat_findings(found, planned, timed, powers):
        assert finding.remedy
        assert "nan" not in finding.message
