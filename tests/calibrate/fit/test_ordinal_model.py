"""Grade probabilities of the ordinal model, against closed forms."""

import numpy as np
import pytest

from preprocess.calibrate.fit.ordinal_model import (
    HALF,
    LAPSE_RATE,
    MIDDLE,
    NOISE,
    PRIOR,
    grade_probabilities,
)


def values(**held):
    found = PRIOR[:, 0].copy()
    found[[MIDDLE, HALF, NOISE]] = 0.0, np.log(0.2), np.log(0.05)
    for name, value in held.items():
        found[{"middle": MIDDLE, "half": HALF, "noise": NOISE}[name]] = value
    return found[None]


def test_at_a_threshold_the_grades_on_both_sides_are_as_likely():
    (at,) = grade_probabilities(np.array([[-0.2]]), values())[0]
    assert at[0] == pytest.approx(0.5 * (1 - LAPSE_RATE) + LAPSE_RATE / 4)
    # even loses only what is beyond heavy, 0.4 away: logistic(-8)
    assert at[1] == pytest.approx((0.5 - 1 / (1 + np.exp(8))) * (1 - LAPSE_RATE) + LAPSE_RATE / 4)


def test_chances_add_up_to_one_and_follow_the_heat():
    every = grade_probabilities(np.linspace(-1, 1, 9)[None], values())[0]
    assert every.sum(axis=1) == pytest.approx(np.ones(9))
    assert (np.diff(every @ np.arange(4)) >= 0).all()
