"""The grading order correlates with no quantity that was varied."""

from dataclasses import replace

import numpy as np

from preprocess.calibrate.fit.diagnostics import diagnose
from preprocess.calibrate.fit.fit import fit_filament
from preprocess.calibrate.next_coupon.proposal import propose_coupon, proposed_definition
from preprocess.coupon.artwork.build import build
from preprocess.coupon.paper.grading_order import grading_order
from tests.simulated_users import BELIEVED, first_coupon, judged, user


def test_the_order_of_judging_goes_with_nothing_that_was_varied():
    cells = build(first_coupon()).cells
    order = grading_order(build(first_coupon()))
    assert sorted(c.name for c in order) == sorted(c.name for c in cells)
    place = np.arange(len(order))
    for told in (
        [c.power for c in order],
        [c.speed for c in order],
        [c.size["span"] for c in order],
    ):
        assert abs(np.corrcoef(place, np.log(told))[0, 1]) < 0.2
    assert [c.name for c in grading_order(build(first_coupon()))] == [c.name for c in order]


def told(turn):
    """Codes of what is doubted after two coupons of one judge who is otherwise like the model."""
    who = replace(user(1), turn=turn, noise=0.02)
    random = np.random.default_rng(7)
    first = judged(first_coupon(), who, random, -0.5)
    one = fit_filament([first], BELIEVED)
    second = judged(proposed_definition(one, propose_coupon(one)), who, random, 0.5)
    return {finding.code for finding in diagnose(fit_filament([first, second], BELIEVED))}
