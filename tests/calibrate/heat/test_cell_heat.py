"""Heat of a coupon's cells for every spread and depth, against plain sums and the column solver."""

from dataclasses import replace

import numpy as np
import pytest

from preprocess.calibrate.heat.cell_heat import (
    DEPTHS,
    SPREADS,
    cell_heat,
    point_heat,
    polynomial_terms,
)
from preprocess.calibrate.heat.patch_heat import HeatPatch, patch_artwork, patch_heat
from preprocess.calibrate.heat.sample_points import sample_points
from preprocess.coupon.artwork.build import build
from preprocess.coupon.design.define import define
from preprocess.geometry.overlay.booleans import union
from preprocess.marking.heat.reference_patch import reference_peak
from preprocess.marking.heat.superposition import smoothed_rise
from preprocess.marking.job.plan import plan_of
from preprocess.marking.job.schedule import schedule_of
from preprocess.marking.solver.exposures import exposures_of
from preprocess.marking.solver.thermal_medium import thermal_medium_of
from preprocess.model.artwork.settings import Direction, Operation, Settings
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.filament import Filament, Reference
from preprocess.model.bench.machine import Machine

GALVO = Machine(name="bench galvo", spot=0.08, turnaround=1.2e-3, fly_back=2500.0)
GREEN = Filament(name="green", polymer="PETG")


@pytest.fixture(scope="module")
def coupon():
    settings = {Operation.ENGRAVE: Settings(speed=600.0, pitch=0.1)}
    bench = Bench(machine=GALVO, filament=GREEN)
    return build(define("power-speed", bench, plate=(60.0, 40.0), settings=settings))


def struck_of(artwork, bench, plastic):
    plan = plan_of(artwork, bench.machine_or_default)
    body = artwork.parts[0] if artwork.parts else None
    found = exposures_of(plan, schedule_of(plan, bench.machine_or_default), plastic.watts, body)
    return found, [plan.steps[one.step].output.id for one in found]


@pytest.mark.parametrize(("spread", "depth"), [(0, 0), (2, 2), (6, 5)])
def test_a_point_is_as_hot_as_the_plain_sum_over_all_runs(coupon, spread, depth):
    plastic = thermal_medium_of(GREEN, GALVO)
    struck, outputs = struck_of(coupon.artwork, coupon.bench, plastic)
    cell = next(c for c in coupon.cells if c.size["span"] == 2)
    outline = union([s.geometry for s in coupon.artwork.shapes if s.id in cell.shapes])
    mine = [n for n, output in enumerate(outputs) if output == cell.layer]
    point = next(iter(sample_points(struck, mine, outline)))
    solid = replace(plastic.solid, depth=float(DEPTHS[depth]))
    like = replace(plastic, spread=float(SPREADS[spread]), solid=solid)
    place = (point.u, point.v)
    there = smoothed_rise(struck, like, place, point.angle, np.array(point.times))
    assert point_heat(struck, plastic, point)[0][spread, depth] == pytest.approx(
        there.max(), rel=1e-3
    )


@pytest.mark.parametrize("two_way", [False, True])
@pytest.mark.parametrize(("spread", "depth"), [(0.17, 0.03), (0.4, 0.15), (0.9, 0.02)])
def test_a_patch_is_as_hot_as_the_column_solver_finds(spread, depth, two_way):
    # the solver takes the median over the whole patch, its cool first rows included
    patch = HeatPatch(speed=600.0, two_way=two_way)
    fitted = np.exp(
        patch_heat(patch, Bench(machine=GALVO, filament=GREEN))[0]
        @ polynomial_terms(np.log(spread), np.log(depth))
    )
    way = Direction.TWO_WAY if two_way else Direction.ONE_WAY
    wanted = replace(
        GREEN,
        spread=spread,
        optical_depth=depth,
        reference=Reference(power=1.0, speed=600.0, direction=way),
    )
    solved, _ = reference_peak(thermal_medium_of(wanted, GALVO), GALVO, 0.1)
    assert fitted == pytest.approx(solved, rel=0.03)


def test_heat_goes_with_power():
    patch = patch_artwork(HeatPatch(speed=600.0))
    bench = Bench(machine=GALVO, filament=GREEN)
    area = patch.shapes[0].geometry
    half = replace(
        patch.layers[0],
        settings={
            Operation.ENGRAVE: Settings(
                power=0.5, speed=600.0, pitch=0.1, direction=Direction.ONE_WAY, angle=0.0, repeats=1
            )
        },
    )
    cells = [("patch", area)]
    whole = cell_heat(patch, bench, cells).index[0]
    less = cell_heat(replace(patch, layers=(half,)), bench, cells).index[0]
    at = polynomial_terms(np.log(0.3), np.log(0.05))
    assert np.exp(less @ at - whole @ at) == pytest.approx(0.5, rel=1e-6)


def test_a_cell_without_rows_has_no_heat():
    patch = patch_artwork(HeatPatch(speed=600.0))
    bench = Bench(machine=GALVO, filament=GREEN)
    found = cell_heat(patch, bench, [("another layer", patch.shapes[0].geometry)])
    assert np.isnan(found.index).all()
