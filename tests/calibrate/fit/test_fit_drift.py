"""Judges who drift from coupon to coupon."""

from dataclasses import replace

import numpy as np

from preprocess.calibrate.fit.diagnostics import diagnose
from preprocess.calibrate.fit.fit import fit_filament
from preprocess.calibrate.next_coupon.proposal import propose_coupon, proposed_definition
from tests.simulated_users import BELIEVED, first_coupon, judged, user


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
