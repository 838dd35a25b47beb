"""Grades to a profile: synthetic filaments are found again, and what tells nothing is refused."""

from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest

from preprocess.calibrate.equivalents import equivalent_settings
from preprocess.calibrate.fit.bleed import bleed_findings, bleed_interval
from preprocess.calibrate.fit.diagnostics import diagnose
from preprocess.calibrate.fit.fit import fit_filament
from preprocess.calibrate.fit.graded_range import graded_range
from preprocess.calibrate.fit.profile import fitted_profile, profile_bytes
from preprocess.calibrate.grades.trials import CouponTrial, merge_trials, read_profile
from preprocess.calibrate.heat.patch_heat import HeatPatch
from preprocess.calibrate.next_coupon.proposal import propose_coupon, proposed_definition
from preprocess.coupon.artwork.build import build
from preprocess.coupon.design.model import Grade
from preprocess.errors import UserError
from preprocess.marking.heat.index import heat
from preprocess.model.artwork.settings import Operation, Settings
from preprocess.model.bench.bench import Bench
from tests.simulated_users import (
    BELIEVED,
    MACHINE,
    SPEED,
    alone,
    define,
    first_coupon,
    judged,
    patch_artwork,
    user,
)


@lru_cache(maxsize=4)
def first_trial(seed):
    return judged(first_coupon(), user(seed), np.random.default_rng([seed, 1]))


@lru_cache(maxsize=4)
def fitted(seed):
    return fit_filament([first_trial(seed)], BELIEVED)


@lru_cache(maxsize=4)
def profile(seed):
    return fitted_profile(fitted(seed))


def graded(*grades):
    """The first coupon with these grades from its first cell on; the others blank."""
    definition = first_coupon()
    names = [cell.name for cell in build(definition).cells]
    held = {name: (Grade(grade),) for name, grade in zip(names, grades, strict=False) if grade}
    return CouponTrial(coupon="power-speed-0", grades=held, definition=definition)


def test_two_coupons_find_the_middle_of_the_band_of_most_filaments():
    # the first three of the well-behaved; tests.simulated_users tells the shares of many
    errors, held = [], []
    for seed in (1, 2, 4):
        who, one = user(seed), fitted(seed)
        random = np.random.default_rng([seed, 2])
        second = judged(proposed_definition(one, propose_coupon(one)), who, random)
        both = fit_filament([first_trial(seed), second], BELIEVED)
        assert both.sightings.cells == 24
        for speed in (SPEED, SPEED / 2):
            low, middle, high = both.posterior.interval(both.band(HeatPatch(speed=speed))[:, 1])
            errors.append(abs(middle - who.band(speed)[1]))
            held.append(low <= who.band(speed)[1] <= high)
    assert np.median(errors) < np.log(1.1)
    assert max(errors) < np.log(1.25)
    assert sum(held) >= 4


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


def test_graded_tips_and_lines_vouch_for_fine_places_and_gaps_do_not():
    known = fitted(5)
    for kind, fine in (("tip-width", 0.2), ("spot-bleed", 0.05)):
        definition = define(
            kind,
            Bench(machine=MACHINE, filament=BELIEVED),
            plate=(60.0, 40.0),
            settings={Operation.ENGRAVE: Settings(power=0.3, speed=SPEED, pitch=0.1)},
        )
        cells = build(definition).cells
        every = {cell.name: (Grade.EVEN,) for cell in cells}
        gaps = {cell.name: (Grade.EVEN,) for cell in cells if "gap" in cell.size}
        for grades, least in ((every, fine), (gaps, 2.0)):
            trial = CouponTrial(coupon=kind, grades=grades, definition=definition)
            tried = graded_range(replace(known, trials=(*known.trials, trial)))
            if grades:
                assert tried.feature[0] == pytest.approx(least, rel=0.02)


def test_a_profile_is_read_back_with_its_trials_and_fits_the_same(tmp_path):
    data = profile_bytes(profile(5), fitted(5).trials)
    (tmp_path / "moss.yaml").write_bytes(data)
    filament, trials = read_profile(tmp_path / "moss.yaml")
    assert trials == fitted(5).trials
    assert replace(filament, trials=()) == profile(5)
    assert profile_bytes(fitted_profile(fit_filament(trials, filament)), trials) == data


def test_a_coupon_that_is_graded_again_replaces_its_old_grades():
    old, new = graded("weak", "even"), graded("even", "even")
    other = replace(old, coupon="power-speed-1")
    assert merge_trials([old, other], [new]) == ((new, other), ("power-speed-0",))


@pytest.mark.parametrize(
    ("grades", "found", "remedy"),
    [
        ((), "no cell is graded", "grade the cells"),
        (("even",), "only one cell is graded", "at least 4"),
        (("even", None, "weak", "even"), "only 3 cells are graded", "at least 4"),
        (("even",) * 12, "all 12 graded cells are even", "below about 8 % and some above about 75"),
        (("weak",) * 12, "all 12 graded cells are weak", "mark powers above about 75 %"),
        (("molten",) * 12, "all 12 graded cells are molten", "mark powers below about 8 %"),
        (
            # layers A, B, C are 12, 25 and 50 % at one speed
            ("molten", "molten", "even", "heavy", "weak", "weak"),
            "the grades contradict one another",
            "mixed up",
        ),
    ],
)
def test_grades_that_tell_nothing_are_refused_in_a_sentence(grades, found, remedy):
    with pytest.raises(UserError) as caught:
        fit_filament([graded(*grades)], BELIEVED)
    (complaint,) = caught.value.complaints
    assert found in complaint.found
    assert remedy in complaint.remedy


def test_coupons_of_two_machines_are_not_fitted_together():
    one = first_trial(5)
    other = replace(one.definition, machine=replace(MACHINE, name="garden gantry"))
    with pytest.raises(UserError, match="different machines"):
        fit_filament([one, replace(one, coupon="another", definition=other)], BELIEVED)


def test_a_cell_that_disagrees_is_named():
    # A1 and D1 are 12 % at 600 and at 300 mm/s: as much cooler as anything here, and yet molten
    grades = ["molten", "weak", "even", "even", "molten", "molten"]
    grades += ["even", "even", "molten", "molten", "molten", "molten"]
    told = [
        f for f in diagnose(fit_filament([graded(*grades)], BELIEVED)) if f.code == "cell-disagrees"
    ]
    assert any(
        "cell A1 of power-speed" in f.message
        and "is molten where the others suggest weak" in f.message
        for f in told
    )


def test_an_end_that_no_cell_shows_is_called_a_guess():
    told = {
        f.code: f for f in diagnose(fit_filament([graded(*["weak"] * 4, *["even"] * 2)], BELIEVED))
    }
    assert "no cell is heavy" in told["open-end"].message
    assert "more power" in told["open-end"].remedy


def test_more_heat_than_one_coupon_tells_is_said():
    told = [f.message for f in diagnose(fitted(5)) if f.code == "not-told"]
    assert any("optical depth" in message for message in told)


def test_the_next_coupon_can_be_typed_in_and_is_expected_to_tell_more():
    offer = propose_coupon(fitted(5))
    assert 6 <= offer.cells <= 12
    assert offer.after < 0.8 * offer.before
    for layer in offer.asked.layers:
        assert layer.power * 100 == pytest.approx(round(layer.power * 100))
        assert 0 < layer.power <= 1


def test_an_equivalent_is_as_hot_as_the_reference_by_the_column_solver():
    found = equivalent_settings(profile(5), MACHINE, (300.0, 600.0, 900.0))
    bench = Bench(machine=MACHINE, filament=profile(5))
    for one in found.each:
        artwork = patch_artwork(HeatPatch(speed=one.speed))
        settings = replace(artwork.layers[0].of(Operation.ENGRAVE), power=one.even)
        layer = replace(artwork.layers[0], settings={Operation.ENGRAVE: settings})
        assert heat(replace(artwork, layers=(layer,)), bench).median == pytest.approx(1, abs=0.02)
        assert one.low / one.even == pytest.approx(profile(5).window.weak)
    at = {one.speed: one for one in found.each}
    assert at[600.0].even == pytest.approx(
        profile(5).reference.power
        * (
            1
            if profile(5).reference.speed == 600.0
            else at[600.0].even / profile(5).reference.power
        )
    )
    assert [one.graded for one in found.each] == [True, True, False]
    slope = np.log(at[900.0].even / at[300.0].even) / np.log(3)
    assert found.exponent == pytest.approx(slope, abs=0.02)


def test_time_of_a_square_centimetre_is_that_of_its_rows():
    (one,) = equivalent_settings(profile(5), MACHINE, (600.0,)).each
    # 100 rows of 10 mm, between them 99 ways back and turnarounds
    assert one.seconds == pytest.approx(100 * 10 / 600 + 99 * (1.2e-3 + 10 / 2500), rel=1e-3)


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


def test_the_simulated_truth_is_not_what_the_fit_believes():
    assert alone(user(5).filament, SPEED) != alone(BELIEVED, SPEED)
