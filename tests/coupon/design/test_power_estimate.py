"""The first powers where none is known, against the closed form."""

from dataclasses import replace

import numpy as np
import pytest

from preprocess.coupon.design.power_estimate import estimated_power
from preprocess.marking.heat.reference_patch import reference_peak
from preprocess.marking.solver.thermal_medium import thermal_medium_of
from preprocess.model.artwork.settings import Settings
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.filament import Filament, Reference
from preprocess.model.bench.machine import Machine

PATCH = Settings(speed=600.0, pitch=0.1)


def test_the_guessed_power_brings_a_patch_half_way_from_softening_to_char():
    machine, filament = Machine(rated_power=3.0), Filament(name="moss", polymer="PLA")
    share = estimated_power(Bench(machine=machine, filament=filament), PATCH)
    patch = Reference(power=share, speed=600.0, pitch=0.1)
    peak, _ = reference_peak(
        replace(thermal_medium_of(filament, machine), reference=patch), machine, 0.1
    )
    assert peak == pytest.approx(np.sqrt((55 - 25) * (360 - 25)), rel=0.001)  # 100 K, by hand
    double = replace(machine, rated_power=6.0)
    assert estimated_power(Bench(machine=double, filament=filament), PATCH) == pytest.approx(
        share / 2
    )


def test_without_watts_or_speed_no_power_is_guessed():
    assert estimated_power(Bench(machine=Machine()), PATCH) is None
    assert estimated_power(Bench(machine=Machine(rated_power=3.0)), Settings(pitch=0.1)) is None
