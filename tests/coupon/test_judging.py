"""The order of judging, judges who move, and the powers of a first coupon."""

from dataclasses import replace

import numpy as np
import pytest

from preprocess.calibrate.fit.diagnostics import diagnose
from preprocess.calibrate.fit.fit import fit_filament
from preprocess.calibrate.next_coupon.proposal import propose_coupon, proposed_definition
from preprocess.coupon.artwork.build import build
from preprocess.coupon.design.power_estimate import estimated_power
from preprocess.coupon.paper.grading_order import grading_order
from preprocess.marking.heat.reference import reference_peak
from preprocess.marking.solver.medium import plastic_of
from preprocess.model.artwork.settings import Settings
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.filament import Filament, Reference
from preprocess.model.bench.machine import Machine
from tests.simulated_users import BELIEVED, first_coupon, judged, user

PATCH = Settings(speed=600.0, pitch=0.1)


def test_the_order_of_judging_goes_with_nothing_that_was_varied():
    cells = build(first_coupon()).cells
    order = grading_order(build(first_coupon()))
    assert sorted(c.name for c in order) == sorted(c.name for c in cells)
    place = np.arange(len(order))
    for told in (
        [c.power for c in order],
        [c.speed for c in order],
        [c.size["span"] for c in order],
    ):
        assert abs(np.corrcoef(place, np.log(told))[0, 1]) < 0.2
    assert [c.name for c in grading_order(build(first_coupon()))] == [c.name for c in order]


def told(turn):
    """Codes of what is doubted after two coupons of one judge who is otherwise like the model."""
    who = replace(user(1), turn=turn, noise=0.02)
    random = np.random.default_rng(7)
    first = judged(first_coupon(), who, random, -0.5)
    one = fit_filament([first], BELIEVED)
    second = judged(proposed_definition(one, propose_coupon(one)), who, random, 0.5)
    return {finding.code for finding in diagnose(fit_filament([first, second], BELIEVED))}


def test_a_judge_who_grows_stricter_from_coupon_to_coupon_is_told():
    assert "judge-drifts" in told(0.5)
    assert "judge-drifts" not in told(0.0)


def test_the_guessed_power_brings_a_patch_half_way_from_softening_to_char():
    machine, filament = Machine(rated_power=3.0), Filament(name="moss", polymer="PLA")
    share = estimated_power(Bench(machine=machine, filament=filament), PATCH)
    patch = Reference(power=share, speed=600.0, pitch=0.1)
    peak, _ = reference_peak(replace(plastic_of(filament, machine), reference=patch), machine, 0.1)
    assert peak == pytest.approx(np.sqrt((55 - 25) * (360 - 25)), rel=0.001)  # 100 K, by hand
    double = replace(machine, rated_power=6.0)
    assert estimated_power(Bench(machine=double, filament=filament), PATCH) == pytest.approx(
        share / 2
    )


def test_without_watts_or_speed_no_power_is_guessed():
    assert estimated_power(Bench(machine=Machine()), PATCH) is None
    assert estimated_power(Bench(machine=Machine(rated_power=3.0)), Settings(pitch=0.1)) is None
