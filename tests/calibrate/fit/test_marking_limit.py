"""The bound on marks_from that grades give."""

from dataclasses import replace
from functools import lru_cache

import pytest

from preprocess.calibrate.fit.diagnostics import diagnose
from preprocess.calibrate.fit.fit import fit_filament
from preprocess.calibrate.fit.marking_limit import marking_bound
from preprocess.calibrate.fit.profile import reference_patch
from preprocess.calibrate.grades.trials import CouponTrial
from preprocess.coupon.artwork.build import build
from preprocess.coupon.design.model import Grade
from tests.marking.moving import run_peak
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


def test_at_the_reference_speed_the_bound_is_the_power_of_the_least_cell_that_shows():
    # even at 25 % and 600 mm/s: at that speed a spike goes with power, a little less in 2 mm rows
    found = fitted(("even", "heavy"))
    power, one = marking_bound(found)
    assert reference_patch(found)[0].speed == 600.0
    assert (one.cell.power, one.cell.speed) == (0.25, 600.0)
    assert 0.95 * 0.25 < power <= 0.25


def test_at_half_the_speed_about_half_the_power_brings_the_same_spike():
    # for light absorbed in depth the spike goes with power over speed, and a slower beam leaves its
    # heat more time to sink away: 25 % at 300 mm/s are like 48 % at 600 mm/s
    how = {"depth": 0.05, "sigma": 0.02}
    slow, fast = (run_peak((-20.0, 20.0), speed, **how) for speed in (300.0, 600.0))
    alike = 0.25 * 2 * slow / fast
    assert 0.46 < alike < 0.49
    assert marking_bound(fitted(("weak", "even")))[0] == pytest.approx(alike, rel=0.05)


def test_what_shows_cannot_be_told_from_grades_and_is_said_once():
    told = [f for f in diagnose(fitted(("even", "heavy"))) if "marks_from" in f.message]
    assert len(told) == 1
    assert told[0].code == "not-told"
    assert "it lies below 24 % at 600 mm/s" in told[0].message
    assert "show nothing at all" in told[0].remedy


@pytest.mark.parametrize(("written", "told"), [(0.2, False), (0.3, True)])
def test_a_limit_that_the_grades_contradict_is_told(written, told):
    known = replace(BELIEVED, marks_from=written)
    found = {f.code: f for f in diagnose(fitted(("even", "heavy"), known))}
    assert ("shows-below-limit" in found) is told
    if told:
        message = found["shows-below-limit"].message
        assert message.startswith("marks_from is 30 %, but cell ")
        assert "is even with the direct heat of 24 % at 600 mm/s" in message
