"""Advice on small blades: what it says is what the written recipe gives."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest

from preprocess.advice.advise import Advice, AdviceLimits, compare_ways, may_be_left_alone
from preprocess.advice.candidates import start_powers, turned_way
from preprocess.advice.lines import meets_a_line
from preprocess.advice.report import advice_bytes
from preprocess.advice.sentences import (
    answer,
    best_number,
    closing_sentences,
    numbered_ways,
    way_sentence,
    ways_table,
)
from preprocess.advice.simulate import AdviceRequest, recipe_text, simulate_way
from preprocess.advice.ungraded import ungraded_uses
from preprocess.advice.ways import Way
from preprocess.advice.why_not import why_not_sentences
from preprocess.engine.progress import StepMemory
from preprocess.errors import UserError
from preprocess.marking.evenness.objective import EvennessFigures, Objective, objective_of_artwork
from preprocess.model.artwork.output import output_layers
from preprocess.passes.interleave.interleave import Form
from preprocess.pipeline import convert
from preprocess.recipe.load import load_recipe
from tests.second_simulator.arts import drawing
from tests.second_simulator.beam import Laser, light_of
from tests.second_simulator.drawing import read_paths
from tests.second_simulator.heat import Plastic, peaks
from tests.second_simulator.judge import verdict
from tests.second_simulator.written import settings_typed

BLADE = b"""<svg xmlns="http://www.w3.org/2000/svg" width="24mm" height="20mm" viewBox="0 0 24 20">
  <path d="M3 3 Q8 4 17 3.4 Q13 8 11 15 Q9 8 3 3 Z"/>
</svg>"""
TWO = BLADE.replace(b"</svg>", b'<path class="seed" d="M18 8 H22 V13 Q20 15 18 13 Z"/></svg>')
LINED = BLADE.replace(b"</svg>", b'<path d="M2 18 H20" fill="none" stroke="#000"/></svg>')

RECIPE = """recipe: 1
design: blade.svg
machine: {name: bench galvo, spot: 0.08 mm, turnaround: 1.2 ms, fly_back: 2500 mm/s,
  layer_pause: 0.3 s, raster_groups: GROUPS}
filament: FILAMENT
settings:
  engrave: {power: 60 %, speed: 400 mm/s, pitch: 0.1 mm, direction: one-way, angle: 0 deg}
passes: [merge]
"""
RAW = "{name: moss, polymer: PLA}"
GRADED = """{name: moss, polymer: PLA, window: {weak: 0.85, heavy: 1.15}, spread: 0.3 mm,
  optical_depth: 0.05 mm, intervals: {spread: [0.2 mm, 0.45 mm]},
  reference: {size: [8 mm, 8 mm], power: 60 %, speed: 400 mm/s, pitch: 0.1 mm},
  tried: {speed: [300 mm/s, 600 mm/s]}}"""


def job(filament=RAW, groups="each-colour", data=BLADE, recipe=RECIPE):
    text = recipe.replace("FILAMENT", filament).replace("GROUPS", groups)
    return AdviceRequest(
        text=text, path=None, loaded=load_recipe(None, text), data=data, design="blade.svg"
    )


@cache
def advised(filament=RAW, groups="each-colour") -> Advice:
    return compare_ways(job(filament, groups), AdviceLimits(), lambda: None)


@cache
def listed(filament, groups):
    """Each way of the advice, and the recipe of it run again from its text alone."""
    asked = job(filament, groups)
    return [
        (one, converted(asked, one))
        for one in (advised(filament, groups).given, *advised(filament, groups).best)
    ]


def converted(asked, one):
    """The recipe of a way, run again from its text alone."""
    result = convert(load_recipe(None, recipe_text(asked, one.way)), asked.data, "blade.svg")
    assert result.data is not None
    return result


CASES = [(RAW, "each-colour"), (GRADED, "each-colour"), (RAW, "each-path")]


@pytest.mark.parametrize(("filament", "groups"), CASES)
def test_each_way_that_is_listed_is_so_when_its_recipe_runs(filament, groups):
    for one, result in listed(filament, groups):
        if one.way.given:
            continue
        found = objective_of_artwork(result.after, result.bench)
        assert found.likely.hot == pytest.approx(one.objective.likely.hot, abs=1e-6)
        assert found.likely.cold == pytest.approx(one.objective.likely.cold, abs=1e-6)
        assert found.worst.off == pytest.approx(one.objective.worst.off, abs=1e-6)
        assert found.time == pytest.approx(one.objective.time)
        assert found.layers == one.objective.layers


@pytest.mark.parametrize(("filament", "groups"), CASES)
def test_each_way_is_as_even_by_the_second_simulator(filament, groups):
    """The recipe as it stands, strips and own rows, of one colour and several."""
    laser = Laser(each_colour=groups == "each-colour")
    for one, result in listed(filament, groups):
        light, said = (
            light_of(read_paths(result.data), settings_typed(result), laser),
            one.objective,
        )
        found = verdict(light, peaks(light, Plastic(), (0.3,)))
        assert (found.hot, found.cold) == pytest.approx(
            (said.likely.hot, said.likely.cold), abs=0.02
        )
        assert said.time == pytest.approx(light.lasts, abs=1e-4)


@pytest.mark.parametrize(("filament", "groups"), CASES)
def test_the_best_way_is_even(filament, groups):
    advice = advised(filament, groups)
    given, best = advice.given.objective.likely, advice.best[0].objective.likely
    assert best.hot < given.hot - 0.15
    assert best.cold > given.cold + 0.1
    assert best.beyond <= 0.01


def test_four_colours_come_first_and_fewer_where_a_person_wants_fewer():
    advice = advised()
    assert advice.helps
    assert advice.best[0].way.colours == 4
    fewer = compare_ways(job(), AdviceLimits(layers=2), lambda: None)
    assert fewer.best[0].objective.layers == 2
    assert fewer.best[0].way.form is Form.OWN_ROWS


def test_software_that_goes_path_by_path_may_have_one_colour():
    ways = advised(RAW, "each-path").best
    assert ways[0].way.colours == 4
    assert 1 in {one.way.colours for one in ways}


def test_own_rows_of_a_graded_filament_are_a_guess():
    advice = advised(GRADED)
    assert not any(one.way.form is Form.OWN_ROWS for one in advice.best)
    assert any("--beyond-graded" in left.why for left in advice.left_out)
    more = compare_ways(job(GRADED), AdviceLimits(beyond_graded=True), lambda: None)
    assert any(one.way.form is Form.OWN_ROWS for one in more.best)


def test_a_graded_filament_gets_powers_at_which_the_mark_is_as_the_patch():
    best = advised(GRADED).best[0]
    assert best.median == pytest.approx(1.0, abs=0.02)
    assert best.objective.likely.outside == pytest.approx(0.0, abs=0.001)


def test_where_the_power_does_not_suffice_it_goes_slower_as_far_as_was_graded():
    strong = RECIPE.replace("power: 60 %", "power: 100 %")
    graded = GRADED.replace("power: 60 %", "power: 98 %")
    best = compare_ways(job(graded, recipe=strong), AdviceLimits(), lambda: None).best[0]
    assert 300.0 / 1.25 <= best.way.speed < 400.0
    assert best.objective.likely.outside < 0.01
    narrow = graded.replace("[300 mm/s, 600 mm/s]", "[420 mm/s, 600 mm/s]")
    capped = compare_ways(job(narrow, recipe=strong), AdviceLimits(), lambda: None)
    wished = [one.way.speed for one in capped.left_out if "graded that slowly" in one.why]
    assert wished
    assert wished[0] < 420 / 1.25
    assert capped.best[0].way.speed == 336.0


@pytest.mark.parametrize(("filament", "groups"), CASES)
def test_written_shares_are_whole_and_give_the_powers_to_the_machines_step(filament, groups):
    for one, result in listed(filament, groups):
        shares = [100 * share for share in one.way.powers]
        assert shares == pytest.approx([round(share) for share in shares])
        if not one.way.given:
            typed = [o.settings.power for o in output_layers(result.after)]
            assert typed == pytest.approx(list(one.powers))
            assert [100 * p for p in typed] == pytest.approx([round(100 * p) for p in typed])


def test_powers_of_an_ungraded_filament_stay():
    asked = job()
    for one in advised().best:
        assert one.way.given or "power: 60 %" in recipe_text(asked, one.way)
        assert sum(one.powers) / len(one.powers) == pytest.approx(0.6, abs=0.015)
    said = " ".join(closing_sentences(advised(), "job.yaml"))
    assert "evenmark coupon job.yaml row-span" in said
    assert "uncalibrated: ranking only" in said


def test_own_rows_are_not_tried_beside_lines_that_are_scored():
    found = compare_ways(job(data=LINED), AdviceLimits(), lambda: None)
    assert any("lines beside them" in left.why for left in found.left_out)
    assert not any(one.way.form is Form.OWN_ROWS for one in found.best)


APART = RECIPE.replace(
    "settings:",
    """layers:
  - {name: stalk, operation: score, choose: {colour: "#000000", select: "#stalk"}}
settings:
  score: {power: 20 %, speed: 250 mm/s}""",
    1,
)


def test_lines_in_a_layer_of_their_own_keep_their_power_beside_own_rows():
    data = LINED.replace(b'<path d="M2 18', b'<path id="stalk" d="M2 18')
    asked = job(data=data, recipe=APART)
    found = compare_ways(asked, AdviceLimits(), lambda: None)
    rows = next(one for one in found.best if one.way.form is Form.OWN_ROWS)
    result = converted(asked, rows)
    typed = {o.id: (o.settings.power, o.settings.speed) for o in output_layers(result.after)}
    assert typed.pop("stalk") == (0.2, 250.0)
    assert {round(power, 6) for power, _ in typed.values()} == set(rows.powers)
    assert {speed for _, speed in typed.values()} == {400.0}


def test_layers_with_equal_settings_become_one():
    layers = """layers:
  - {name: seed, operation: engrave, choose: {select: ".seed"}}
settings:"""
    found = compare_ways(
        job(data=TWO, recipe=RECIPE.replace("settings:", layers, 1)), AdviceLimits(), lambda: None
    )
    assert found.given.objective.layers == 2
    assert found.best[0].way.one_layer
    merged = [one for one in found.best if one.way.one_layer]
    assert [one.objective.layers for one in merged] == [len(one.powers) for one in merged]
    assert {2, 4} <= {one.objective.layers for one in merged}


def test_what_is_even_is_left_alone():
    figures = EvennessFigures(hot=1.02, cold=0.96, beyond=0.0, seam=0.02)
    even = Objective(likely=figures, worst=replace(figures, hot=1.08), time=9.0, layers=1)
    assert may_be_left_alone(even)
    few = replace(figures, cold=0.8, beyond=0.004)
    assert may_be_left_alone(replace(even, likely=few))
    for change in ({"hot": 1.04}, {"seam": 0.06}, {"cold": 0.8, "beyond": 0.006}):
        assert not may_be_left_alone(replace(even, likely=replace(figures, **change)))
    assert not may_be_left_alone(replace(even, worst=replace(figures, hot=1.2)))


def test_advice_on_an_even_recipe_is_to_leave_it_and_nothing_else_is_tried():
    best = advised().best[0]
    text = recipe_text(job(), best.way)
    again = AdviceRequest(
        text=text, path=None, loaded=load_recipe(None, text), data=BLADE, design="blade.svg"
    )
    calls = []
    advice = compare_ways(again, AdviceLimits(), lambda: calls.append(1))
    if advice.alone:
        assert answer(advice).startswith("Leave it alone: worst place")
        assert (len(calls), advice.best) == (1, (advice.given,))
    else:
        assert best_number(advice) == 0 or advice.best[0].key < advice.given.key


WIDE = GRADED.replace("[0.2 mm, 0.45 mm]", "[0.2 mm, 0.7 mm]")


def test_more_rounds_are_tried_where_heat_may_spread_far():
    found = compare_ways(job(WIDE), AdviceLimits(), lambda: None)
    by_rounds = {one.way.rounds: one.objective for one in found.best if one.way.form}
    assert set(by_rounds) == {4, 6}
    assert by_rounds[6].worst.off < by_rounds[4].worst.off - 0.05
    assert not any(meets_a_line(one, 0.1) for one in by_rounds.values())


def test_where_no_way_is_as_even_as_rounds_should_be_it_says_why():
    found = compare_ways(job(WIDE), AdviceLimits(layers=4), lambda: None)
    said = list(why_not_sentences(found))
    assert found.best[0].way.colours == 4
    assert said[0].startswith("Not as even as rounds should make it: ")
    assert "coldest at worst" in said[0]
    assert any("known only as 0.2 to 0.7 mm" in one for one in said)
    assert any("own rows" in one for one in said)


def test_no_power_of_rows_could_make_a_way_less_even_than_it_is():
    for one in advised().best:
        assert 1 <= one.bound.hot <= one.objective.likely.hot
        assert 1 >= one.bound.cold >= one.objective.likely.cold


def test_what_no_graded_cell_had_is_named_and_its_coupon_first():
    known = GRADED.replace("tried: {", "tried: {span: [1 mm, 13 mm], ")
    assert not compare_ways(job(known), AdviceLimits(), lambda: None).best[0].ungraded
    short = GRADED.replace("tried: {", "tried: {span: [1 mm, 2 mm], ")
    more = compare_ways(job(short), AdviceLimits(), lambda: None)
    assert "rows of" in more.best[0].ungraded[0].words
    assert ways_table(numbered_ways(more))[0][-1] == "not graded"
    said = " ".join(closing_sentences(more, "job.yaml"))
    assert "(graded: 1 mm to 2 mm). Mark and grade first: evenmark coupon job.yaml row-span" in said


def test_a_way_that_changes_nothing_is_not_listed_again():
    advice = advised(GRADED)
    plain = [one for one in advice.best if one.way.form is None and not one.way.given]
    assert all(one.powers != advice.given.powers for one in plain)


def test_limits_are_kept():
    advice = compare_ways(job(), AdviceLimits(layers=1, time=4.0), lambda: None)
    assert all(one.objective.layers == 1 and one.objective.time <= 4.0 for one in advice.best)
    assert any("rounds need two colours" in left.why for left in advice.left_out)
    with pytest.raises(UserError, match="no way that was tried keeps within the limits"):
        compare_ways(job(), AdviceLimits(time=0.5), lambda: None)


def test_the_same_job_gets_the_same_advice_to_the_byte():
    again = compare_ways(job(), AdviceLimits(), lambda: None)
    assert advice_bytes(advised(), job(), "blade") == advice_bytes(again, job(), "blade")


def test_ways_are_numbered_from_the_recipe_on():
    ways = numbered_ways(advised())
    assert ways[0] is advised().given
    assert ways[best_number(advised())] is advised().best[0]


def test_first_powers_fall_and_are_even_on_the_whole():
    for colours in (1, 2, 3, 4):
        powers = start_powers(colours)
        assert len(powers) == colours
        assert list(powers) == sorted(powers, reverse=True)
        assert sum(powers) / colours == pytest.approx(1.0, abs=0.01)


GREYS = RECIPE.replace(
    "layer_pause: 0.3 s", "layer_pause: 0.3 s, grey: {from: 5 %, to: TO, gamma: 1}"
)


@pytest.fixture(scope="module")
def with_greys() -> Advice:
    asked = job(recipe=GREYS.replace("TO", "100 %"))
    return compare_ways(asked, AdviceLimits(), lambda: None)


def test_greys_are_listed_where_the_machine_makes_power_of_them(with_greys):
    across, along = (one for one in with_greys.best if one.way.images)
    assert (along.way.images, along.objective.layers, along.way.angle) == (4, 4, None)
    # on this small blade rows along miss the line of greys, as on the stalk of evenness.md
    assert along.objective.worst.hot > 1.06
    assert (across.way.images, across.objective.layers, across.way.angle) == (5, 5, 90.0)
    assert with_greys.best[0] is across
    # nobody types these powers in: black and the lightest grey are what the software asks for
    assert "mean of each image in marking order: 6" in way_sentence(across)
    assert not any(one.way.images for one in advised().best)
    told = " ".join(closing_sentences(with_greys, "blade.yaml"))
    assert "without dithering" in told
    assert "coupon" in told


def test_what_is_listed_of_greys_is_so_when_the_recipe_runs(with_greys):
    asked = job(recipe=GREYS.replace("TO", "100 %"))
    greys = with_greys.best[0]
    result = converted(asked, greys)
    found = objective_of_artwork(result.after, result.bench)
    assert found.likely.hot == pytest.approx(greys.objective.likely.hot, abs=2e-3)
    assert found.likely.cold == pytest.approx(greys.objective.likely.cold, abs=2e-3)
    assert found.time == pytest.approx(greys.objective.time, abs=1e-6)


def test_greys_that_cannot_give_the_power_are_left_out_with_the_reason():
    asked = job(recipe=GREYS.replace("TO", "50 %"))
    left = simulate_way(asked, Way(images=4), StepMemory())
    assert "60 %, but greys give 5 to 50 %" in left.why


def test_a_recipe_in_rounds_is_not_told_that_no_rounds_are_possible():
    """One colour of the recipe's own rounds; others would be better, but are not allowed."""
    rounds = RECIPE.replace("[merge]", "[merge, interleave: {colours: 1}]")
    asked = job(groups="each-path", recipe=rounds)
    found = compare_ways(asked, AdviceLimits(layers=1), lambda: None)
    said = list(why_not_sentences(found))
    assert said
    assert not any("no way in rounds is possible" in one for one in said)
    assert any("only 1 colour can be had" in one for one in said)


def test_bars_are_listed_only_where_nothing_can_be_interleaved():
    """Lines take one of two colours, and stand beside own rows: no rounds are left to try."""
    placed = RECIPE.replace("passes:", "part: {outline: [21 mm, 19 mm]}\npasses:")
    asked = job(
        data=LINED, recipe=placed.replace("bench galvo,", "bench galvo, field: [11 cm, 11 cm],")
    )
    few = compare_ways(asked, AdviceLimits(layers=2), lambda: None)
    assert any(one.way.bars for one in few.best)
    more = compare_ways(asked, AdviceLimits(), lambda: None)
    assert {one.way.form for one in more.best} == {Form.STRIPS, None}
    assert not any(one.way.bars or one.way.levels for one in more.best)


STALK = drawing("stalk").replace(b"<path ", b'<path id="stalk" ')


@pytest.fixture(scope="module")
def of_a_stalk() -> Advice:
    return compare_ways(job(data=STALK), AdviceLimits(), lambda: None)


def test_rows_are_turned_across_a_stalk_that_lies_along_them(of_a_stalk):
    turned = [one for one in of_a_stalk.best if one.way.angle == 90.0]
    assert [one.way.colours for one in turned] == [4, 2]
    assert all(meets_a_line(one.objective, 0.1) for one in turned)
    assert of_a_stalk.best[0] is turned[0]
    assert "rows are turned" in " ".join(closing_sentences(of_a_stalk, "job.yaml")).lower()


def test_turned_rows_are_as_even_by_the_second_simulator(of_a_stalk):
    for one in (one for one in of_a_stalk.best if one.way.angle == 90.0):
        result, said = converted(job(data=STALK), one), one.objective.likely
        typed = {name: replace(how, angle=90.0) for name, how in settings_typed(result).items()}
        light = light_of(read_paths(result.data), typed, Laser(each_colour=True))
        found = verdict(light, peaks(light, Plastic(), (0.3,)))
        assert (found.hot, found.cold) == pytest.approx((said.hot, said.cold), abs=0.015)
        assert found.hot < 1.05
        assert found.cold > 0.95


@pytest.mark.parametrize(("motif", "angle", "lies"), [
    ("stalk", 0.0, True), ("stalk", 90.0, False), ("discs", 0.0, False), ("waist", 0.0, False),
])  # fmt: skip
def test_only_long_thin_pieces_along_the_rows_are_turned(motif, angle, lies):
    given = simulate_way(
        job(data=drawing(motif), recipe=RECIPE.replace("angle: 0 deg", f"angle: {angle} deg")),
        Way(given=True),
        StepMemory(),
    )
    turned = turned_way(Way(form=Form.STRIPS, rounds=4), given)
    assert (turned is not None) == lies


@pytest.mark.parametrize(("had", "asks", "words"), [
    ("pitch: [0.05 mm, 0.05 mm]", "", "pitch 0.1 mm"),
    ("speed: [300 mm/s, 600 mm/s]", ", repeats: 2", "repeats: 2"),
])  # fmt: skip
def test_pitch_and_repeats_that_no_graded_cell_had_are_named(had, asks, words):
    known = GRADED.replace("speed: [300 mm/s, 600 mm/s]", had)
    asked = job(known, recipe=RECIPE.replace("angle: 0 deg", f"angle: 0 deg{asks}"))
    given = simulate_way(asked, Way(given=True), StepMemory())
    assert words in [use.words for use in ungraded_uses(given)]
