"""The patch of own rows from graded coupons, by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest

from preprocess.calibrate.fit.fit import fit_filament
from preprocess.calibrate.fit.profile import fitted_profile
from preprocess.calibrate.grades.own_rows import own_rows_reference
from preprocess.calibrate.grades.trials import CouponTrial
from preprocess.coupon.artwork.build import build
from preprocess.coupon.design.define import define
from preprocess.coupon.design.model import Grade
from preprocess.model.bench.bench import Bench
from tests.calibrate.fits import first_trial
from tests.coupon.benches import BENCH, MACHINE, PLATE, SETTINGS
from tests.simulated_users import BELIEVED
from tests.simulated_users import MACHINE as USED


def graded(bench=BENCH, **grades):
    definition = define("own-rows", bench, plate=PLATE, settings=SETTINGS)
    held = {name: (Grade(grade),) for name, grade in grades.items()}
    return CouponTrial(coupon=build(definition).id, grades=held, definition=definition)


def test_the_patch_is_the_middle_of_the_even_powers_of_the_widest_blade():
    # A to D are 24, 30, 37 and 47 %; of the wide blades 30 and 37 % are even: √(30 · 37) = 33.3
    found = own_rows_reference([graded(A1="weak", B1="even", C1="even", D1="heavy", A2="even")])
    assert found is not None
    assert found.power == pytest.approx(0.33)
    assert (found.size, found.speed, found.pitch, found.rounds) == ((8.0, 5.0), 900.0, 0.1, 4)


def test_light_and_not_power_is_halved_where_the_machine_has_an_offset():
    # offset 10 %: 30 and 37 % give 2/9 and 3/10 of the light, √ of both 0.2582, which 33.2 % gives
    bench = replace(BENCH, machine=replace(MACHINE, power_offset=0.1))
    found = own_rows_reference([graded(bench, B1="even", C1="even")])
    assert found is not None
    assert found.power == pytest.approx(0.33)


def test_no_even_cell_and_no_such_coupon_tell_nothing():
    assert own_rows_reference([graded(A1="weak", D1="heavy")]) is None
    assert own_rows_reference([first_trial(17)]) is None


def test_the_profile_holds_it_beside_the_swept_patch():
    bench = Bench(machine=USED, filament=BELIEVED)
    fit = fit_filament([first_trial(17), graded(bench, B1="even")], BELIEVED)
    profile = fitted_profile(fit)
    assert profile.own_rows is not None
    assert profile.own_rows.power == pytest.approx(0.3)
    assert profile.reference is not None
