"""The choice of the next cells, against a closed form."""

import numpy as np
import pytest

from preprocess.calibrate.fit.ordinal_model import (
    HALF,
    MIDDLE,
    NOISE,
    PRIOR,
)
from preprocess.calibrate.next_coupon.expected_variance import Candidate, choose_design


def values(**held):
    found = PRIOR[:, 0].copy()
    found[[MIDDLE, HALF, NOISE]] = 0.0, np.log(0.2), np.log(0.05)
    for name, value in held.items():
        found[{"middle": MIDDLE, "half": HALF, "noise": NOISE}[name]] = value
    return found[None]


def test_the_next_cell_is_the_one_that_splits_what_is_open():
    # the middle may be anywhere within 0.5: a cell far below is weak anyhow and tells nothing
    random = np.random.default_rng(5)
    samples = np.repeat(values(noise=np.log(0.01)), 500, axis=0)
    samples[:, MIDDLE] = random.uniform(-0.5, 0.5, 500)
    wanted = samples[:, [MIDDLE]]

    def at(heat):
        return Candidate(np.exp(heat), 1.0, np.full((500, 1), heat))

    useless, useful = at(-5.0), at(-0.2)
    choice = choose_design(samples, wanted, [useless, useful], 1)
    assert choice.candidates == (useful,)
    # half of it is left, apart from mistakes
    assert choice.before == pytest.approx(1 / np.sqrt(12), rel=0.05)
    assert choice.after == pytest.approx(0.5 / np.sqrt(12), rel=0.25)
    alone = choose_design(samples, wanted, [useless], 1)
    assert alone.after == pytest.approx(alone.before, rel=0.01)
