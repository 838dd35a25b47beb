"""The slope of the tone, from a map and from coupons."""

from dataclasses import replace

import numpy as np
import pytest

from preprocess.correction.slope import slope_of_coupons, slope_of_map
from preprocess.photo.measured import MeasuredJob
from tests.calibrate.tones.test_tone_fit import USUAL
from tests.made_tones import toned


def bump(share):
    """A map whose heat lies so far from the believed spread towards twice of it, and that heat."""
    x = np.linspace(0, 20, 60) * np.ones((30, 1))
    index = 1 + 0.15 * np.exp(-(((x - 9) / 2) ** 2))
    wider = 1 + 0.25 * np.exp(-(((x - 9) / 4) ** 2))
    log = np.log(index) + share * (np.log(wider) - np.log(index))
    return log, MeasuredJob(
        name="leaf.yaml",
        drawing="0" * 64,
        origin=(0.0, 0.0),
        step=0.34,
        ground=60.0,
        photos=(),
        tone=np.full(x.shape, -20.0),
        index=index,
        wider=wider,
        noise=0.5,
    )


@pytest.mark.parametrize("share", [0.0, 0.5, 1.0])
def test_a_map_tells_the_slope_wherever_its_heat_lies(share):
    log, job = bump(share)
    assert slope_of_map(job, -35 * log) == pytest.approx(-35.0, rel=1e-6)


def test_a_part_that_was_evened_out_counts_as_one_of_twice_the_spread():
    _, job = bump(0.0)
    even = replace(job, index=np.ones_like(job.index))
    assert slope_of_map(even, -35 * np.log(job.wider)) == pytest.approx(-35.0, rel=1e-6)


def test_coupons_tell_the_slope_at_a_tone():
    # the true tone is A (1 - exp(-z)) with z = (heat / middle)^q: its slope is A q z exp(-z)
    at = USUAL.tone / 2
    z = np.log(2)
    true = USUAL.tone * USUAL.steep * z * np.exp(-z)
    found = slope_of_coupons(toned(USUAL, 1, deep=False), at)
    assert found == pytest.approx(true, rel=0.2)


def test_no_coupon_tells_nothing():
    assert slope_of_coupons(None, -20.0) is None
