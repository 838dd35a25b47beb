"""Findings about parameters that the grades do not identify."""

from dataclasses import replace
from functools import lru_cache

import pytest

from preprocess.calibrate.fit.fit import fit_filament
from preprocess.calibrate.fit.ordinal_model import CURVATURE, PRIOR, SPIKE_SHARE
from preprocess.calibrate.fit.unidentified import MODEL_PARAMETERS, unidentified_findings
from preprocess.calibrate.grades.trials import CouponTrial
from preprocess.coupon.artwork.build import build
from preprocess.coupon.design.model import Grade
from tests.simulated_users import BELIEVED, first_coupon

GRADES = {0.12: ("weak", "weak"), 0.25: ("weak", "even"), 0.5: ("heavy", "molten")}
"""By power; the first at 600 mm/s, the second at 300 mm/s."""


def trial(at_once=("weak", "even")):
    definition = first_coupon()
    given = {**GRADES, 0.25: at_once}
    held = {c.name: (Grade(given[c.power][c.speed < 500]),) for c in build(definition).cells}
    return CouponTrial(coupon="power-speed-0", grades=held, definition=definition)


@lru_cache
def fitted(at_once=("weak", "even"), known=BELIEVED):
    return fit_filament([trial(at_once)], known)


def test_each_parameter_is_told_of_when_grades_leave_it_as_it_was():
    found = fitted()
    sd = PRIOR[:, 1].copy()
    blind = replace(found, posterior=Known(sd))
    assert len(list(unidentified_findings(blind))) == len(MODEL_PARAMETERS)
    sure = replace(found, posterior=Known(sd * 0.5))
    assert not list(unidentified_findings(sure))


class Known:
    """A posterior of which only the standard deviations are asked."""

    def __init__(self, deviations):
        self.deviations = deviations

    def sd(self):
        return self.deviations


@pytest.mark.parametrize(
    ("at", "words"),
    [
        (SPIKE_SHARE, "weight of the direct heat under the beam: a small one is assumed"),
        (CURVATURE, "curvature of power over speed: one exponent"),  # two speeds cannot show a bend
    ],
)
def test_a_dozen_cells_at_two_speeds_leave_spike_and_bend_open(at, words):
    found = fitted()
    assert found.posterior.sd()[at] > 0.9 * PRIOR[at, 1]
    assert any(words in one.message for one in unidentified_findings(found))
