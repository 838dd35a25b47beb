"""Tones along three blades: figures are found again, and what breaks the model is told.

``python -m tests.made_tones 60 4000`` judges sixty filaments.
"""

from dataclasses import replace

import numpy as np
import pytest

from preprocess.calibrate.tones.tone_fit import fit_tones
from preprocess.calibrate.tones.tone_model import DEPTH, SPEED, TONE_PRIOR, ToneModel
from tests.made_tones import Made, errors, places, toned
from tests.second_simulator.heat import Plastic

USUAL = Made(spread=0.5, plastic=Plastic(), tone=-40.0, steep=2.5, half=0.5)


@pytest.fixture(scope="module")
def usual():
    return fit_tones(toned(USUAL, 1, deep=False))


def test_the_spread_is_found_within_its_interval(usual):
    off, sd, _, _, ratio = errors(USUAL, usual)
    assert usual.left_out == 0
    assert abs(off) < 1.645 * sd
    assert abs(off) < np.log(1.4)
    assert sd < 0.35
    assert abs(ratio) < 0.08


def test_rows_of_one_pitch_and_speed_tell_neither_depth_nor_exponent(usual):
    sd = np.sqrt(np.diag(usual.covariance))
    assert sd[2] == pytest.approx(TONE_PRIOR[DEPTH, 1])
    assert sd[0] == pytest.approx(TONE_PRIOR[SPEED, 1])


def test_the_fitted_curve_follows_the_tones(usual):
    assert float(np.std(usual.residuals)) < 1.0


def test_light_marks_are_fitted_like_dark_ones(usual):
    light = fit_tones(toned(replace(USUAL, tone=40.0), 1, deep=False))
    assert light.mean[1] == pytest.approx(usual.mean[1], abs=0.25)
    assert light.model.scale > 0


def test_foam_that_turns_back_is_left_out_or_told():
    found = fit_tones(toned(replace(USUAL, breaks="foam"), 1, deep=False))
    assert found.left_out > 0
    if found.used is not None:
        heat = found.model.heat(found.model.start)
        assert heat[found.used].max() < heat[~found.used].min()


def test_tones_that_follow_no_heat_tell_nothing():
    held = places(deep=False)
    random = np.random.default_rng(4)
    steps = np.repeat(random.normal(0, 8, len(held) // 5), 5)  # of 5 mm
    found = fit_tones(replace(held, tone=-20 + steps))
    assert found.used is None
    assert found.mean == pytest.approx(TONE_PRIOR[[0, 1, 2], 0])
    assert np.sqrt(np.diag(found.covariance)) == pytest.approx(TONE_PRIOR[[0, 1, 2], 1])


def test_the_noise_of_a_mark_is_measured_along_its_blades():
    held = places(deep=False)
    noise = np.random.default_rng(5).normal(0, 0.7, len(held))
    model = ToneModel(replace(held, tone=-20 - 0.2 * held.at + noise))
    assert model.grain == pytest.approx(0.7, rel=0.2)
