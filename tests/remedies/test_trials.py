"""Remedies in findings: followed to the letter, and judged by a simulator that shares no code."""

from __future__ import annotations

import math
import re
from functools import cache

import pytest

from preprocess.model.bench.machine import SpeedSteps
from preprocess.pipeline import convert
from preprocess.recipe.load import load_recipe
from preprocess.remedies import trials
from preprocess.remedies.speeds import faster_speed, slower_speed
from preprocess.remedies.tried_prediction import predict_output
from tests.second_simulator.beam import Laser, light_of
from tests.second_simulator.drawing import read_paths
from tests.second_simulator.heat import Plastic, peaks
from tests.second_simulator.judge import verdict
from tests.second_simulator.written import settings_typed

PAGE = '<svg xmlns="http://www.w3.org/2000/svg" width="24mm" height="20mm" viewBox="0 0 24 20">'
BLADE = f'{PAGE}<path d="M3 3 Q8 4 17 3.4 Q13 8 11 15 Q9 8 3 3 Z"/></svg>'

RECIPE = """recipe: 1
design: blade.svg
machine: {name: bench galvo, spot: 0.08 mm, turnaround: 1.2 ms, fly_back: 2500 mm/s,
  layer_pause: 0.3 s, raster_groups: each-colour, MORE}
filament: {name: moss, polymer: PLA, window: {weak: 0.8, heavy: 1.15}, spread: 0.3 mm,
  optical_depth: 0.05 mm,
  reference: {size: [8 mm, 8 mm], power: 60 %, speed: 400 mm/s, pitch: 0.1 mm}}
settings:
  engrave: {power: 60 %, speed: 400 mm/s, pitch: 0.1 mm, direction: one-way, angle: 0 deg}
passes: [merge]
"""


def made(passes="[merge]", more="max_layers: 8", drawn=BLADE):
    text = RECIPE.replace("[merge]", passes).replace("MORE", more)
    return convert(load_recipe(None, text), drawn.encode(), "blade.svg")


def predicted(result):
    return predict_output(result.drawn, result.after, result.bench)


@cache
def told(passes="[merge]", more="max_layers: 8", drawn=BLADE):
    """Remedies of places that are too heavy or too weak, each once."""
    found = predicted(made(passes, more, drawn)).findings
    places = (f for f in found if f.code in {"too-heavy", "too-weak"})
    return tuple(dict.fromkeys(f.remedy for f in places))


def percent(remedy, what):
    """Before and after of a figure that a remedy tells, as ratios."""
    signs = re.search(rf"{what} ([−+]\d+) % → ([−+]?\d+) %", remedy.replace("± 0", "+0"))
    return [1 + int(one.replace("−", "-")) / 100 for one in signs.groups()]


def judged(result):
    laser = Laser(each_colour=True)
    light = light_of(read_paths(result.data), settings_typed(result), laser)
    return verdict(light, peaks(light, Plastic(), (0.3,)))


def test_rounds_that_a_finding_tells_are_as_even_as_it_says():
    (remedy,) = told()
    assert remedy.startswith("add interleave and then solve-power to the passes")
    before, after = judged(made()), judged(made("[merge, interleave, solve-power]"))
    (hot, hot_then), (cold, cold_then) = (percent(remedy, w) for w in ("worst place", "coldest"))
    assert (before.hot, before.cold) == pytest.approx((hot, cold), abs=0.02)
    assert after.hot < hot_then + 0.02
    assert after.cold > cold_then - 0.02
    assert hot - hot_then > 0.1


def test_slower_rows_are_told_where_the_power_does_not_suffice_for_rounds():
    (remedy,) = told(more="max_layers: 8, power: {to: 60 %}")
    (speed,) = re.findall(r"mark it at (\d+) mm/s", remedy)
    assert 250 < int(speed) < 400  # rounds need a quarter more light, and one in four 5 % more
    slow = RECIPE.replace(
        "speed: 400 mm/s, pitch: 0.1 mm, direction",
        f"speed: {speed} mm/s, pitch: 0.1 mm, direction",
    )
    text = slow.replace("[merge]", "[merge, interleave, solve-power]")
    text = text.replace("MORE", "max_layers: 8, power: {to: 60 %}")
    found = convert(load_recipe(None, text), BLADE.encode(), "blade.svg")
    assert not {f.code for f in predicted(found).findings} & {"too-weak", "layer-power"}


def test_zones_give_way_to_rounds_where_those_are_more_even():
    zones = "[merge, {tag-power: {by: heat, levels: 3}}, solve-power]"
    (remedy,) = told(zones)
    assert remedy.startswith("take tag-power out and add interleave")
    before = judged(made(zones))
    assert before.cold == pytest.approx(percent(remedy, "coldest")[0], abs=0.02)


def test_no_rounds_are_told_where_the_software_has_no_colour_for_them():
    assert "interleave" not in " ".join(told(more="max_layers: 1"))
    assert "interleave: {colours: 2}" in " ".join(told(more="max_layers: 2"))


def counted(monkeypatch, *args, **more):
    """How many simulations remedies took."""
    calls = []
    real = trials.heat_index_of_plan
    monkeypatch.setattr(
        trials, "heat_index_of_plan", lambda *a, **k: calls.append(1) or real(*a, **k)
    )
    found = predicted(made(*args, **more)).findings
    return len(calls), {f.code for f in found}


def test_each_remedy_is_simulated_once_however_many_places_ask(monkeypatch):
    calls, codes = counted(monkeypatch)
    assert {"too-heavy", "too-weak"} <= codes
    assert calls == 1


def test_nothing_is_simulated_where_nothing_lies_outside(monkeypatch):
    calls, codes = counted(monkeypatch, "[merge, interleave, solve-power]")
    assert not {"too-heavy", "too-weak"} & codes
    assert calls == 0


STEPS = SpeedSteps(from_=100.0, to=1000.0, step=10.0)


def test_speeds_are_those_of_the_machine_and_like_the_graded():
    assert slower_speed(400.0, 1.5, STEPS, 0.0) == 260.0  # 266.7, down to a step
    assert slower_speed(400.0, 1.5, STEPS, 304.0) == 310.0
    assert slower_speed(400.0, 8.0, STEPS, 0.0) == 100.0
    assert slower_speed(100.0, 2.0, STEPS, 0.0) is None
    assert faster_speed(400.0, 1.5, STEPS, math.inf) == 600.0
    assert faster_speed(400.0, 9.0, STEPS, math.inf) == 1000.0
    assert faster_speed(400.0, 9.0, STEPS, 555.0) == 550.0
    assert faster_speed(1000.0, 2.0, STEPS, math.inf) is None
