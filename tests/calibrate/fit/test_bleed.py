"""The bleed from gaps that stayed open and gaps that closed."""

from dataclasses import replace

import pytest

from preprocess.calibrate.fit.bleed import bleed_findings, bleed_interval
from preprocess.calibrate.fit.fit import fit_filament
from preprocess.calibrate.fit.profile import fitted_profile
from preprocess.calibrate.grades.trials import CouponTrial
from preprocess.coupon.artwork.build import build
from preprocess.coupon.design.model import Grade
from preprocess.model.artwork.settings import Operation, Settings
from preprocess.model.bench.bench import Bench
from tests.calibrate.fits import first_trial
from tests.simulated_users import (
    BELIEVED,
    MACHINE,
    define,
)


def gauge(**gaps):
    settings = {Operation.ENGRAVE: Settings(power=0.3, speed=600.0, pitch=0.1)}
    bench = Bench(machine=MACHINE, filament=BELIEVED)
    definition = define("spot-bleed", bench, plate=(60.0, 40.0), settings=settings)
    widths = {c.size["gap"]: c.name for c in build(definition).cells if "gap" in c.size}
    assert list(widths) == [0.05, 0.1, 0.15, 0.2, 0.3, 0.4]
    held = {widths[float(w.replace("mm", "0."))]: (Grade(g),) for w, g in gaps.items()}
    return [CouponTrial(coupon="gauge", grades=held, definition=definition)]


@pytest.mark.parametrize(
    ("gaps", "between", "code"),
    [
        # the spot is 0.08 mm: a gap of 0.1 mm is shut if the bleed is above (0.1 - 0.08) / 2, one
        # of 0.15 open if it is below (0.15 - 0.08) / 2
        ({"mm05": "heavy", "mm1": "heavy", "mm15": "even", "mm2": "even"}, (0.01, 0.035), None),
        ({"mm05": "heavy", "mm1": "even"}, (0.0, 0.01), None),
        ({"mm1": "even"}, (0.0, 0.01), None),
        ({"mm05": "even", "mm1": "even"}, None, "spot-too-large"),
        ({"mm05": "heavy", "mm4": "molten"}, None, "no-gap-open"),
        ({"mm05": "even", "mm4": "heavy"}, None, "gaps-contradict"),
        ({}, None, None),
    ],
)
def test_bleed_is_what_gaps_lose_beside_the_spot(gaps, between, code):
    trials = gauge(**gaps)
    assert bleed_interval(trials) == between
    assert [f.code for f in bleed_findings(trials)] == ([code] if code else [])


def test_a_bleed_that_somebody_wrote_stays_until_a_gauge_tells():
    written = replace(BELIEVED, bleed=0.03)
    assert fitted_profile(fit_filament([first_trial(5)], written)).bleed == 0.03
    gauged = fit_filament([first_trial(5), *gauge(mm1="heavy", mm2="even")], written)
    assert fitted_profile(gauged).bleed == pytest.approx((0.01 + 0.06) / 2)


def test_without_a_spot_the_gaps_do_not_tell_the_bleed():
    (trial,) = gauge(mm1="heavy", mm2="even")
    definition = replace(trial.definition, machine=replace(MACHINE, spot=None))
    blind = [replace(trial, definition=definition)]
    assert bleed_interval(blind) is None
    assert [f.code for f in bleed_findings(blind)] == ["spot-unknown"]


def test_the_bleed_makes_up_for_what_the_gauge_saw():
    # edges that move in by half the spot and the bleed leave a gap that just closes as drawn
    low, high = bleed_interval(gauge(mm15="heavy", mm2="even"))
    assert [MACHINE.spot / 2 + bleed for bleed in (low, high)] == pytest.approx([0.075, 0.1])
