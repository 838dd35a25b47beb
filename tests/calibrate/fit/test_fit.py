"""Synthetic filaments are found again from their grades."""

from dataclasses import replace

import numpy as np
import pytest

from preprocess.calibrate.fit.fit import fit_filament
from preprocess.calibrate.heat.patch_heat import HeatPatch
from preprocess.calibrate.next_coupon.proposal import propose_coupon, proposed_definition
from preprocess.errors import UserError
from tests.calibrate.fits import first_trial, fitted
from tests.simulated_users import (
    BELIEVED,
    MACHINE,
    SPEED,
    alone,
    judged,
    user,
)


def test_two_coupons_find_the_middle_of_the_band_of_most_filaments():
    # the first three of the well-behaved; tests.simulated_users tells the shares of many
    errors, held = [], []
    for seed in (1, 2, 4):
        who, one = user(seed), fitted(seed)
        random = np.random.default_rng([seed, 2])
        second = judged(proposed_definition(one, propose_coupon(one)), who, random)
        both = fit_filament([first_trial(seed), second], BELIEVED)
        assert both.observations.cells == 24
        for speed in (SPEED, SPEED / 2):
            low, middle, high = both.posterior.interval(both.band(HeatPatch(speed=speed))[:, 1])
            errors.append(abs(middle - who.band(speed)[1]))
            held.append(low <= who.band(speed)[1] <= high)
    assert np.median(errors) < np.log(1.1)
    assert max(errors) < np.log(1.25)
    assert sum(held) >= 4


def test_coupons_of_two_machines_are_not_fitted_together():
    one = first_trial(5)
    other = replace(one.definition, machine=replace(MACHINE, name="garden gantry"))
    with pytest.raises(UserError, match="different machines"):
        fit_filament([one, replace(one, coupon="another", definition=other)], BELIEVED)


def test_the_simulated_truth_is_not_what_the_fit_believes():
    assert alone(user(5).filament, SPEED) != alone(BELIEVED, SPEED)
