"""Shares outside the window and the choice of a power, against figures worked out by hand."""

import numpy as np
import pytest

from preprocess.marking.heat.window_shares import TOLERATED_SHARE, Shares
from preprocess.model.bench.filament import Window

WINDOW = Window(weak=0.8, heavy=1.25)


def of(index, weight):
    return Shares.of(np.array(index, float), np.array(weight, float), WINDOW)


def test_what_lies_outside_at_any_power():
    shares = of([1.0, 0.5, 2.0, 0.9], [4.0, 1.0, 2.0, 3.0])
    weak, heavy = shares.outside(np.array([0.5, 1.0, 2.0]))
    # halved: .5 .25 1 .45; as they are: 1 .5 2 .9; doubled: 2 1 4 1.8
    assert weak.tolist() == pytest.approx([0.8, 0.1, 0.0])
    assert heavy.tolist() == pytest.approx([0.0, 0.2, 0.9])


def test_limits_of_the_window_belong_to_it():
    weak, heavy = of([0.8, 1.25], [1.0, 1.0]).outside(np.ones(1))
    assert (weak[0], heavy[0]) == (0.0, 0.0)


def test_an_even_design_takes_the_middle_and_may_be_off_as_far_as_the_window_reaches():
    factors = np.linspace(0.5, 2.0, 1501)
    shares = of([0.7] * 50, [1.0] * 50)
    # 0.7 f lies between 0.8 and 1.25; their middle, by ratio, is 1
    assert factors[shares.best(factors)] == pytest.approx(1 / 0.7, abs=1e-3)
    # at 1 the power may rise by 25 % and fall by 20 %
    assert of([1.0] * 50, [1.0] * 50).margin() == pytest.approx(0.2, abs=2e-3)


def test_two_halves_leave_a_narrower_margin():
    # 1 and 1.25 may fall to 0.8, and may not rise at all
    assert of([1.0, 1.25], [1.0, 1.0]).margin() == pytest.approx(0.0, abs=2e-3)
    # moved down to the middle: 0.894 and 1.118 of window 0.8 to 1.25, 11.8 % up and 10.6 % down
    middle = np.array([1.0, 1.25]) / 1.25**0.5
    assert of(middle, [1.0, 1.0]).margin() == pytest.approx(1 - 0.8 / middle[0], abs=2e-3)


def test_what_fits_nowhere_gets_the_least_outside_and_no_margin():
    shares = of([0.4, 1.0, 4.0], [1.0, 5.0, 2.0])
    factors = np.linspace(0.2, 3.0, 2801)
    best = factors[shares.best(factors)]
    # the largest piece alone fits: between 0.8 and 1.25, in the middle 1
    assert best == pytest.approx(1.0, abs=2e-3)
    assert shares.margin() is None


def test_a_hair_may_lie_outside():
    a_hair = 0.9 * TOLERATED_SHARE
    assert of([1.0, 5.0], [1 - a_hair, a_hair]).margin() is not None
    assert of([1.0, 5.0], [1 - 2 * TOLERATED_SHARE, 2 * TOLERATED_SHARE]).margin() is None
