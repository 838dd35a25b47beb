"""The profile of a fit: calibrated, read back, and its reference patch."""

from dataclasses import replace

import pytest

from preprocess.calibrate.fit.fit import fit_filament
from preprocess.calibrate.fit.profile import fitted_profile, profile_bytes
from preprocess.calibrate.grades.trials import CouponTrial, read_profile
from preprocess.coupon.artwork.build import build
from preprocess.coupon.design.model import Grade
from preprocess.model.artwork.settings import Operation, Settings
from preprocess.model.bench.bench import Bench
from tests.calibrate.fits import fitted, profile
from tests.simulated_users import (
    BELIEVED,
    MACHINE,
    SPEED,
    define,
)


def test_the_profile_is_calibrated_and_its_reference_is_the_middle_of_its_window():
    found = profile(5)
    assert found.window.weak < 1 < found.window.heavy < found.window.molten
    # the power is rounded to a whole per cent: up to half of one off, at both ends of the window
    off = 0.005 / found.reference.power
    assert found.window.weak * found.window.heavy == pytest.approx(1, abs=(1 + off) ** 2 - 1)
    for figure, ends in (
        (found.window.weak, found.intervals.weak),
        (found.window.heavy, found.intervals.heavy),
        (found.spread, found.intervals.spread),
        (found.optical_depth, found.intervals.optical_depth),
        (found.speed_correction, found.intervals.speed_correction),
    ):
        assert ends[0] < figure < ends[1]
    assert found.tried.speed == (300.0, 600.0)
    assert found.tried.span == (2.0, 8.0)
    # blades of 2 and 8 mm, 5 mm high, that lean by 0.06 of it: a little less wide, a little longer
    assert found.tried.feature == pytest.approx((2.0, 5.0), rel=0.02)
    assert found.tried.size == pytest.approx((5.0, 8.3), rel=1e-3)
    assert found.tried.filament == BELIEVED.name


def test_a_profile_is_read_back_with_its_trials_and_fits_the_same(tmp_path):
    data = profile_bytes(profile(5), fitted(5).trials)
    (tmp_path / "moss.yaml").write_bytes(data)
    filament, trials = read_profile(tmp_path / "moss.yaml")
    assert trials == fitted(5).trials
    assert replace(filament, trials=()) == profile(5)
    assert profile_bytes(fitted_profile(fit_filament(trials, filament)), trials) == data


def test_the_reference_of_a_pitch_coupon_has_the_pitch_in_its_middle():
    definition = define(
        "pitch",
        Bench(machine=MACHINE, filament=BELIEVED),
        plate=(60.0, 40.0),
        settings={Operation.ENGRAVE: Settings(power=0.3, speed=SPEED, pitch=0.1)},
    )
    pitches = [0.06, 0.08, 0.1, 0.125, 0.16]
    grades = dict(zip(pitches, ["molten", "heavy", "even", "even", "weak"], strict=True))
    held = {c.name: (Grade(grades[c.pitch]),) for c in build(definition).cells}
    found = fit_filament(
        [CouponTrial(coupon="pitch-0", grades=held, definition=definition)], BELIEVED
    )
    assert fitted_profile(found).reference.pitch == 0.1
