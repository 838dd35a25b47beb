"""solve-power: what can be set, what is refused, and what fits instead."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from shapely import box

from preprocess.engine.proof import prove
from preprocess.errors import Refusal, UserError
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.filament import Filament
from preprocess.model.bench.machine import PowerSteps
from preprocess.passes.equalize_width.equalize_width import EqualizeWidth
from preprocess.passes.solve_power.solve_power import SolvePower
from preprocess.passes.tag_power.tag_power import TagPower
from preprocess.recipe.load import load_recipe
from tests.passes.benches import shape
from tests.passes.solving import (
    GALVO,
    GRADED,
    KNOWN,
    ONE,
    STEPLESS,
    STUMP,
    UNKNOWN,
    art,
    named,
    powers,
    spike_under_the_beam,
    triangle,
)

# rounding and what can be set


@pytest.mark.parametrize(
    ("power", "steps", "wanted"),
    [
        (0.437, (0.01, 1.0, 0.01), 0.44),
        (0.437, (0.05, 1.0, 0.1), 0.45),
        (0.399, (0.05, 1.0, 0.1), 0.35),
        (0.437, (0.0, 1.0, 0.005), 0.435),
        (0.97, (0.05, 0.9, 0.1), 0.85),
        (0.001, (0.05, 0.9, 0.1), 0.05),
        (0.3, (0.1, 1.0, 0.1), 0.3),
    ],
)
def test_the_nearest_power_that_can_be_set(power, steps, wanted):
    assert PowerSteps(from_=steps[0], to=steps[1], step=steps[2]).nearest(power) == wanted


def test_rounding_comes_last():
    """The rounded powers are the stepless ones rounded, not what rounding in between leads to."""
    stepless = powers(SolvePower()(triangle(), KNOWN).artwork)
    coarse = Bench(machine=replace(GALVO, power=PowerSteps(step=0.05)), filament=GRADED)
    rounded = powers(SolvePower()(triangle(), coarse).artwork)
    for name, power in stepless.items():
        assert rounded[name] == pytest.approx(0.01 + 0.05 * round((power - 0.01) / 0.05))


def test_levels_that_end_alike_stay_and_are_named():
    coarse = Bench(machine=replace(GALVO, power=PowerSteps(from_=0.1, step=0.1)), filament=GRADED)
    out = SolvePower()(triangle(levels=4), coarse)
    found = powers(out.artwork)
    assert len(found) == 4
    same = [name for name in found if found[name] == 0.5]
    told = [f for f in out.findings if f.code == "set-up-as-one"]
    assert len(same) > 1
    assert told[0].message == f"{', '.join(same)} have the same power, 50 %"


# what is refused


@pytest.mark.parametrize("missing", ["power", "speed", "pitch"])
def test_what_is_missing_is_named_with_the_line_to_add(missing):
    made = art(shape("bed", box(5, 5, 9, 9)), **{missing: None})
    with pytest.raises(Refusal) as told:
        SolvePower()(made, KNOWN)
    assert told.value.found.startswith(f"layer 'fronds' lacks {missing}")
    assert f"engrave: {{{missing}: " in told.value.remedy


def threshold(marks_from):
    return Bench(machine=STEPLESS, filament=replace(GRADED, marks_from=marks_from))


def test_a_level_shows_down_to_its_spike_over_that_of_the_patch():
    """The spikes are those of a superposition of every run, weighed by lit length.

    The rows of the tip come back before the heat of the row before has reached them. So the tip
    has its own row's spike alone, 5.3 % below that of the patch at the same power.
    """
    made = SolvePower()(triangle(), KNOWN).artwork
    size, power = GRADED.reference.size, GRADED.reference.power
    patch = art(shape("patch", box(0, 0, *size)), power=power)
    tip = spike_under_the_beam(made, KNOWN, "fronds-3", 0.02)
    limit = power * tip / spike_under_the_beam(patch, KNOWN, "fronds", 0.5)
    assert limit == pytest.approx(0.947 * powers(made)["fronds-3"], rel=1e-3)
    assert SolvePower()(triangle(), threshold(0.998 * limit)).artwork
    with pytest.raises(Refusal, match="fronds-3 may not mark at 4"):
        SolvePower()(triangle(), threshold(1.002 * limit))


def test_a_level_that_would_show_nothing_is_refused_with_what_helps_instead():
    narrow = powers(SolvePower()(triangle(), KNOWN).artwork)["fronds-3"]
    with pytest.raises(Refusal) as told:
        SolvePower()(triangle(power=0.5), threshold(narrow + 0.02))
    assert told.value.found.startswith("fronds-3 may not mark at 4")
    for word in ("equalize-width", "merge", "one-way", "strength: "):
        assert word in told.value.remedy


def test_the_strength_that_is_proposed_is_accepted_and_little_more_is_not():
    bench = threshold(powers(SolvePower()(triangle(), KNOWN).artwork)["fronds-3"] + 0.02)
    made = triangle(power=0.5)
    with pytest.raises(Refusal) as told:
        SolvePower()(made, bench)
    percent = int(re.search(r"strength: (\d+) %", told.value.remedy)[1])
    assert 20 < percent < 95
    assert SolvePower(strength=(percent - 2) / 100)(made, bench).artwork
    with pytest.raises(Refusal):
        SolvePower(strength=(percent + 6) / 100)(made, bench)


def test_the_limit_goes_with_the_speed():
    """Closed form for light absorbed in depth: at half the speed half the power shows."""
    made = art(shape("bed", box(5, 5, 13, 13)), speed=150.0)
    power = powers(SolvePower()(made, KNOWN).artwork)["fronds"]
    assert SolvePower()(made, threshold(2 * power * 0.9)).artwork
    with pytest.raises(Refusal, match="fronds may not mark at"):
        SolvePower()(made, threshold(2 * power * 1.15))


def test_without_a_graded_reference_no_limit_is_known():
    bench = Bench(machine=STEPLESS, filament=Filament(name="moss green", marks_from=0.9))
    assert SolvePower()(triangle(bench=bench), bench).artwork


def test_too_much_power_is_refused_with_a_speed_that_fits():
    made = art(shape("bed", box(5, 5, 13, 13)), speed=900.0)
    with pytest.raises(Refusal) as told:
        SolvePower()(made, KNOWN)
    assert "the machine's largest is 100 %" in told.value.found
    speed = float(re.search(r"about (\d+) mm/s", told.value.remedy)[1])
    assert 400 < speed < 900
    fits = SolvePower()(art(shape("bed", box(5, 5, 13, 13)), speed=speed), KNOWN)
    assert 0.85 < powers(fits.artwork)["fronds"] <= 1


def test_too_little_power_is_refused_with_a_speed_that_fits():
    bench = Bench(machine=replace(GALVO, power=PowerSteps(from_=0.4)), filament=GRADED)
    made = art(shape("bed", box(5, 5, 13, 13)), speed=150.0)
    with pytest.raises(Refusal) as told:
        SolvePower()(made, bench)
    assert "the machine's smallest is 40 %" in told.value.found
    speed = float(re.search(r"about (\d+) mm/s", told.value.remedy)[1])
    fits = SolvePower()(art(shape("bed", box(5, 5, 13, 13)), speed=speed), bench)
    assert 0.4 <= powers(fits.artwork)["fronds"] < 0.5


def barred_stump(power):
    made = art(shape("stump", STUMP), parts=[box(9, 4, 21, 16)], power=power)
    return EqualizeWidth()(TagPower(levels=2)(made, UNKNOWN).artwork, UNKNOWN).artwork


def test_without_grades_a_lower_power_of_the_layer_fits():
    with pytest.raises(Refusal) as told:
        SolvePower()(barred_stump(1.0), UNKNOWN)
    percent = int(re.search(r"about (\d+) % power, so that all levels fit", told.value.remedy)[1])
    assert 90 < percent < 100
    assert SolvePower()(barred_stump(percent / 100), UNKNOWN).artwork
    with pytest.raises(Refusal):
        SolvePower()(barred_stump(percent / 100 + 0.02), UNKNOWN)


def test_no_power_is_proposed_where_none_lets_all_levels_fit():
    """The levels differ by more than the machine's range, at any power of the layer."""
    made = triangle(bench=UNKNOWN, power=0.5)
    even = powers(SolvePower()(made, UNKNOWN).artwork)
    least, most = min(even.values()), max(even.values())
    few = Bench(machine=replace(GALVO, power=PowerSteps(from_=1.02 * least, to=most, step=1e-4)))
    for power in (most, 0.9 * most):
        with pytest.raises(Refusal, match="the machine's smallest is") as told:
            SolvePower()(triangle(bench=UNKNOWN, power=power), few)
        assert told.value.remedy.startswith("no power of layer 'fronds' suits all levels")


def test_a_part_of_a_layer_has_no_power_of_its_own():
    made = art(named("one", box(5, 5, 9, 9)), named("two", box(15, 5, 19, 9)))
    with pytest.raises(Refusal, match="the step chooses only some of its shapes"):
        SolvePower(only=ONE)(made, KNOWN)


def test_nothing_may_follow_it(tmp_path):
    (tmp_path / "r.yaml").write_text(
        "recipe: 1\ndesign: in.svg\npasses: [solve-power, merge]\n", "utf-8"
    )
    steps = load_recipe(tmp_path / "r.yaml").steps
    with pytest.raises(UserError, match=r"step 2 \(merge\) would undo that the levels have solved"):
        prove(steps, {"artwork": frozenset(SolvePower.contract.needs)}, Bench())
