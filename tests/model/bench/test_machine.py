"""Powers and speeds that a machine can be set to, counted by hand from its lowest one."""

import pytest

from preprocess.model.bench.machine import PowerSteps, SpeedSteps

FIVES = SpeedSteps(from_=3.0, to=104.0, step=5.0)
"""3, 8, 13 … 98, 103 mm/s."""


@pytest.mark.parametrize(
    ("speed", "nearest", "at_most", "at_least"),
    [
        (52.9, 53.0, 48.0, 53.0),
        (53.0, 53.0, 53.0, 53.0),
        (53.1, 53.0, 53.0, 58.0),
        (1.0, 3.0, 3.0, 3.0),
        (500.0, 103.0, 103.0, 103.0),
    ],
)
def test_steps_are_counted_from_the_lowest_speed(speed, nearest, at_most, at_least):
    assert FIVES.nearest(speed) == nearest
    assert FIVES.at_most(speed) == at_most
    assert FIVES.at_least(speed) == at_least
    assert FIVES.count == 21


def test_a_value_on_a_step_keeps_it_though_tenths_have_no_exact_binary_form():
    tenths = PowerSteps(from_=0.0, to=1.0, step=0.1)
    for number in range(11):
        assert tenths.at_most(number / 10) == tenths.at_least(number / 10) == number / 10
