"""The light of the beam: its offset, its rise and its delay, by hand."""

import pytest

from preprocess.marking.machine.beam import Beam, beam_of
from preprocess.model.bench.machine import Machine


def test_a_machine_without_these_keys_has_full_light_at_once():
    beam = beam_of(Machine())
    assert beam.at_once
    assert [beam.light(power) for power in (0.0, 0.3, 1.0)] == [0.0, 0.3, 1.0]


@pytest.mark.parametrize(
    ("power", "light"),
    # 8 % is the first that gives none; half way from there to the full is 54 %
    [(0.05, 0.0), (0.08, 0.0), (0.54, 0.5), (1.0, 1.0)],
)
def test_light_begins_at_the_offset_and_grows_evenly(power, light):
    beam = beam_of(Machine(power_offset=0.08))
    assert beam.light(power) == pytest.approx(light)


def test_twice_the_light_is_less_than_twice_the_power():
    # offset 8 %: 31 % gives a quarter of the full, 54 % a half
    beam = Beam(offset=0.08)
    assert beam.scaled(0.31, 2.0) == pytest.approx(0.54)
    assert beam.ratio(0.54, 0.31) == pytest.approx(2.0)
    assert beam.power(0.25) == pytest.approx(0.31)


@pytest.mark.parametrize(
    ("speed", "lost"),
    # half the way that the beam goes in 0.15 ms, of a row of 1 mm: 0.15e-3 · v / 2
    [(533.333, 0.04), (900.0, 0.0675), (1066.667, 0.08)],
)
def test_a_ramp_takes_four_to_eight_hundredths_of_a_row_of_one_millimetre(speed, lost):
    begins, shares = Beam(ramp=0.15e-3).rise(speed)
    ends = [*begins[1:], 1.0]
    light = sum((b - a) * s for a, b, s in zip(begins, ends, shares, strict=True))
    assert 1 - light == pytest.approx(lost, abs=1e-5)


def test_a_delay_moves_the_ramp():
    begins, shares = Beam(ramp=0.1e-3, delay=0.05e-3).rise(400.0)
    assert begins == pytest.approx([0.0, 0.02, 0.03, 0.04, 0.05, 0.06])
    assert shares == pytest.approx([0.0, 0.125, 0.375, 0.625, 0.875, 1.0])
