"""Advice on small leaves: what it says is what the written recipe gives at full resolution."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from preprocess.advice.advise import Advice, AdviceLimits, compare_ways
from preprocess.advice.candidates import candidate_ways, engrave_settings
from preprocess.advice.report import advice_bytes
from preprocess.advice.sentences import (
    best_number,
    closing_sentences,
    numbered_ways,
    one_setting_answer,
    scatter_plot,
)
from preprocess.advice.simulate import AdviceRequest, recipe_text, simulate_way
from preprocess.advice.ways import Sweep, Way
from preprocess.errors import UserError
from preprocess.marking.prediction import predict
from preprocess.model.artwork.output import output_layers
from preprocess.pipeline import convert
from preprocess.recipe.load import load_recipe

LEAF = b"""<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="30mm" viewBox="0 0 40 30">
  <path id="label" d="M14 4 H26 L20 22 Z" fill="#eee"/>
  <path id="leaf" d="M16 6 H24 L20 15 Z"/>
</svg>"""

RECIPE = """recipe: 1
design: leaf.svg
machine: {name: bench galvo, spot: 0.06 mm, turnaround: 1.2 ms, fly_back: 2500 mm/s}
filament: FILAMENT
part: {outline: PART}
settings:
  engrave: {power: 40 %, speed: 300 mm/s, pitch: 0.1 mm, direction: one-way, angle: 0 deg}
passes: [merge]
"""
PALE = "name: moss, polymer: PETG, optical_depth: 0.1 mm, spread: 0.6 mm"
GRADED = f"""{{{PALE}, marks_from: 10 %, window: {{weak: 0.85, heavy: 1.1}},
  reference: {{size: [8 mm, 8 mm], power: 40 %, speed: 300 mm/s, pitch: 0.1 mm}}}}"""


def job(part='"#label"', filament=GRADED, recipe=RECIPE):
    text = recipe.replace("PART", part).replace("FILAMENT", filament)
    return AdviceRequest(
        text=text, path=None, loaded=load_recipe(None, text), data=LEAF, design="leaf.svg"
    )


OWN = '"#label"'
WIDE = "[38 mm, 28 mm]"


NO_BARS = AdviceLimits(bars=False)


@cache
def advised(part) -> Advice:
    return compare_ways(job(part), AdviceLimits(), lambda: None)


def foreseen(one, part=OWN):
    """The recipe of a way, run again from its text alone and simulated at full resolution."""
    text = recipe_text(job(part), one.way)
    result = convert(load_recipe(None, text), LEAF, "leaf.svg")
    assert result.data is not None
    return result, predict(result.after, result.bench, surely=False)


@pytest.mark.parametrize("part", [OWN, WIDE])
def test_each_way_that_is_printed_is_so_at_full_resolution(part):
    for one in advised(part).best:
        if one.way.given:
            continue
        result, prediction = foreseen(one, part)
        index = np.concatenate([p.index[p.lit] for p in prediction.heat.images])
        area = np.concatenate([p.areas[p.lit] for p in prediction.heat.images])
        mean = (index * area).sum() / area.sum()
        figures = one.figures
        assert figures.too_weak == pytest.approx(area[index < 0.85].sum() / area.sum(), abs=1e-6)
        assert figures.too_heavy == pytest.approx(area[index > 1.1].sum() / area.sum(), abs=1e-6)
        variation = (((index - mean) ** 2 * area).sum() / area.sum()) ** 0.5 / mean
        assert figures.variation == pytest.approx(variation, rel=1e-6)
        assert figures.time == pytest.approx(prediction.schedule.total)
        assert figures.layers == len(output_layers(result.after))


@pytest.mark.parametrize("part", [OWN, WIDE])
def test_the_best_way_is_better_than_the_recipe(part):
    advice = advised(part)
    assert advice.helps
    assert advice.best[0].figures.outside < advice.given.figures.outside - 0.02


def bars_of(advice):
    return [one for one in advice.best if one.way.bars]


def test_bars_cost_more_on_a_wide_part_so_advice_differs():
    own, wide = advised(OWN), advised(WIDE)
    assert own.best[0].way.bars
    assert not wide.best[0].way.bars or wide.best[0].figures.time > 2 * own.best[0].figures.time
    assert [one.way for one in own.best] != [one.way for one in wide.best]


def test_one_setting_is_asked_for_at_a_handful_of_speeds():
    advice = advised(OWN)
    assert [one.way.speed for one in advice.paces] == [150.0, 210.0, 300.0, 420.0, 600.0]
    powers = [one.way.power for one in advice.paces]
    assert powers == sorted(powers)
    answer = one_setting_answer(advice)
    assert answer.startswith("One speed and power for all: no.")
    assert f"{100 * advice.one.figures.outside:.1f} % of the area" in answer


def test_no_other_power_leaves_less_outside():
    one = advised(OWN).one
    _, prediction = foreseen(one)
    index = np.concatenate([p.index[p.lit] for p in prediction.heat.images]) / one.way.power
    area = np.concatenate([p.areas[p.lit] for p in prediction.heat.images])
    tried = [
        np.average((index * p < 0.85) | (index * p > 1.1), weights=area)
        for p in np.arange(1, 101) / 100
    ]
    assert one.figures.outside == pytest.approx(min(tried), abs=1e-9)


def test_limits_are_kept():
    advice = compare_ways(job(), AdviceLimits(layers=1, bars=False, time=4.0), lambda: None)
    assert all(one.figures.layers == 1 and not one.way.bars for one in advice.best)
    assert all(one.figures.time <= 4.0 for one in advice.best)


def test_limits_that_nothing_keeps_are_said_to_be_too_narrow():
    nothing = AdviceLimits(time=0.5, bars=False)
    with pytest.raises(UserError, match="no way that was tried keeps within the limits"):
        compare_ways(job(), nothing, lambda: None)


def test_the_same_job_gets_the_same_advice_to_the_byte():
    one, two = (compare_ways(job(), NO_BARS, lambda: None) for _ in range(2))
    assert advice_bytes(one, job(), "leaf") == advice_bytes(two, job(), "leaf")


def test_without_grades_powers_stay_and_a_coupon_comes_first():
    ungraded = f"{{{PALE}}}"
    advice = compare_ways(job(OWN, ungraded), NO_BARS, lambda: None)
    assert not advice.calibrated
    for one in numbered_ways(advice).values():
        assert one.way.power is None
    said = " ".join(closing_sentences(advice, "job.yaml"))
    assert "evenmark coupon job.yaml row-span" in said
    assert "uncalibrated: ranking only" in said
    assert "(not graded)" in one_setting_answer(advice)


def test_it_says_so_when_nothing_helps():
    advice = advised(OWN)
    nothing = "No way that was tried is better than the recipe as it stands."
    assert nothing not in closing_sentences(advice, "job.yaml")
    none = replace(advice, best=())
    assert nothing in closing_sentences(none, "job.yaml")
    assert best_number(none) == 0
    worse = replace(advice.given.figures, variation=0.01)
    best = replace(advice, given=replace(advice.given, figures=worse), best=(advice.given,))
    assert nothing in closing_sentences(best, "job.yaml")


def test_no_way_leaves_more_outside_than_the_recipe_and_the_one_setting_is_shown():
    for part in (OWN, WIDE):
        advice = advised(part)
        limit = advice.given.figures.outside + 0.01
        assert all(one.figures.outside <= limit for one in advice.best)
        assert advice.one in numbered_ways(advice).values()


def test_the_plot_shows_each_way_where_it_belongs():
    ways = numbered_ways(advised(OWN))
    lines = scatter_plot(ways)
    assert max(map(len, lines)) <= 79
    shown = "\n".join(line.split("|", 1)[1] for line in lines if "|" in line)
    slowest = max(ways, key=lambda n: ways[n].figures.time)
    assert max(lines, key=lambda line: len(line) * ("|" in line)).endswith(str(slowest))
    assert all(str(number) in shown for number in ways)
    assert best_number(advised(OWN)) == 1


def test_rows_of_our_own_are_simulated_as_they_would_be_written():
    job_ = job(WIDE)
    way = Way(sweep=Sweep.TOGETHER, every=3, power=0.4, speed=300.0)
    trial = simulate_way(job_, way)
    result = convert(load_recipe(None, trial.text), LEAF, "leaf.svg")
    found = predict(result.after, result.bench, surely=False).heat
    assert len(found.images) == 3
    index = np.concatenate([p.index[p.lit] for p in found.images])
    assert trial.heat.largest == pytest.approx(index.max())
    in_order = simulate_way(job_, replace(way, every=0))
    assert trial.heat.largest < 0.97 * in_order.heat.largest, "neighbours are far apart in time"


LEVELS = """  - tag-power: {by: width, levels: 2, powers: [100 %, 58 %]}
"""


def test_powers_of_an_ungraded_filament_stay_in_rows_of_our_own():
    """The narrow level of the recipe has 29 %: that is no power for the whole."""
    raw = f"{{{PALE}}}"
    recipe = RECIPE.replace("passes: [merge]", "passes:\n  - merge\n" + LEVELS.rstrip())
    recipe = recipe.replace("power: 40 %", "power: 50 %")
    asked = job(OWN, raw, recipe)
    given = simulate_way(asked, Way(given=True))
    assert sorted(o.settings.power for o in given.outputs) == pytest.approx([0.29, 0.5])
    ways = [
        way
        for way in candidate_ways(asked, engrave_settings(given), Way(), bars=False)
        if way.every
    ]
    assert [way.power for way in ways] == [0.5]
    written = load_recipe(None, recipe_text(asked, ways[0])).recipe
    powers = {operation.value: s.power for operation, s in written.settings.items()}
    assert (powers["engrave"], powers["score"]) == (0.5, 0.5)


def test_rows_of_our_own_are_not_tried_where_layers_of_an_ungraded_filament_differ():
    two = LEAF.replace(b"</svg>", b'<path id="seed" d="M18 16 H22 V18 H18 Z"/></svg>')
    layers = """layers:
  - {name: leaf, operation: engrave, choose: {select: "#leaf"}, settings: {power: 50 %}}
  - {name: seed, operation: engrave, choose: {select: "#seed"}, settings: {power: 29 %}}
settings:"""
    asked = job(OWN, f"{{{PALE}}}", RECIPE.replace("settings:", layers, 1))
    asked = replace(asked, data=two)
    found = compare_ways(asked, NO_BARS, lambda: None)
    assert any("stay as they are" in left.why for left in found.left_out if left.way.every)
    assert not any(one.way.every for one in found.best)


def test_rows_of_our_own_are_not_tried_beside_lines_that_are_scored():
    lines = LEAF.replace(b"</svg>", b'<path d="M2 2 H30" fill="none" stroke="#000"/></svg>')
    found = compare_ways(replace(job(WIDE), data=lines), NO_BARS, lambda: None)
    (left,) = [one for one in found.left_out if one.way.every]
    assert "scored already" in left.why
