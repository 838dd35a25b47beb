"""The spread that a part shows, from maps whose heat is made for one."""

import numpy as np
import pytest

from preprocess.correction.learned_spread import TRIED, ToneSlope, learned_spread

X = np.linspace(0, 24, 400)
BLADE, EDGE = np.exp(-(((X - 15) / 4) ** 2)), np.exp(-X / 3)
BELIEVED = 0.3


def log_heat(spread):
    """A part whose heat piles up in one place with the spread, and fades in another."""
    return 0.15 * np.log(spread / 0.1) * BLADE - 0.1 * np.log(spread / 0.05) * EDGE


LOGS = {BELIEVED * factor: log_heat(BELIEVED * factor) for factor in TRIED}


@pytest.mark.parametrize("true", [0.22, 0.3, 0.48, 0.6])
def test_the_spread_and_the_slope_that_made_the_heat_are_found(true):
    unsure = ToneSlope(value=-30.0, sd=0.5)
    found = learned_spread(-40 * log_heat(true) + 3, LOGS, BELIEVED, unsure, 1e5)
    # so large a part leaves the priors no weight
    assert found.shown == pytest.approx(true, rel=0.03)
    assert found.slope == pytest.approx(-40, rel=0.1)
    assert found.believed == BELIEVED


def test_a_known_slope_tells_the_spread_more_nearly():
    known = ToneSlope(value=-40.0, sd=0.05)
    found = learned_spread(-40 * log_heat(0.6), LOGS, BELIEVED, known, 1e5)
    assert found.shown == pytest.approx(0.6, rel=0.03)


def test_a_part_that_is_alike_at_every_spread_leaves_the_believed_one():
    alike = dict.fromkeys(LOGS, 0.2 * BLADE)
    found = learned_spread(-8 * BLADE, alike, BELIEVED, ToneSlope(value=-40.0, sd=0.5), 400.0)
    assert found.shown == pytest.approx(BELIEVED, rel=1e-6)
