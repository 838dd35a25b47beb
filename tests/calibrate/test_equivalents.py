"""Powers and speeds of equal heat, by the column solver."""

from dataclasses import replace

import numpy as np
import pytest

from preprocess.calibrate.equivalents import equivalent_settings
from preprocess.calibrate.heat.patch_heat import HeatPatch
from preprocess.marking.heat.index import heat_index
from preprocess.model.artwork.settings import Operation
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.machine import SpeedSteps
from tests.calibrate.fits import profile
from tests.simulated_users import (
    MACHINE,
    patch_artwork,
)


def test_an_equivalent_is_as_hot_as_the_reference_by_the_column_solver():
    found = equivalent_settings(profile(5), MACHINE, (300.0, 600.0, 900.0))
    bench = Bench(machine=MACHINE, filament=profile(5))
    for one in found.each:
        artwork = patch_artwork(HeatPatch(speed=one.speed))
        settings = replace(artwork.layers[0].of(Operation.ENGRAVE), power=one.even)
        layer = replace(artwork.layers[0], settings={Operation.ENGRAVE: settings})
        assert heat_index(replace(artwork, layers=(layer,)), bench).median == pytest.approx(
            1, abs=0.02
        )
        assert one.low / one.even == pytest.approx(profile(5).window.weak)
    at = {one.speed: one for one in found.each}
    assert at[600.0].even == pytest.approx(
        profile(5).reference.power
        * (
            1
            if profile(5).reference.speed == 600.0
            else at[600.0].even / profile(5).reference.power
        )
    )
    assert [one.graded for one in found.each] == [True, True, False]
    slope = np.log(at[900.0].even / at[300.0].even) / np.log(3)
    assert found.exponent == pytest.approx(slope, abs=0.02)


def test_time_of_a_square_centimetre_is_that_of_its_rows():
    (one,) = equivalent_settings(profile(5), MACHINE, (600.0,)).each
    # 100 rows of 10 mm, between them 99 ways back and turnarounds
    assert one.seconds == pytest.approx(100 * 10 / 600 + 99 * (1.2e-3 + 10 / 2500), rel=1e-3)


def test_only_speeds_are_offered_that_the_machine_can_be_set_to():
    machine = replace(MACHINE, speed=SpeedSteps(from_=3.0, to=2000.0, step=5.0))
    offered = [one.speed for one in equivalent_settings(profile(5), machine).each]
    assert len(offered) > 2
    assert [speed for speed in offered if (speed - 3) % 5] == []
