"""simplify: the limit of points, what it says, what it leaves alone."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely import MultiPolygon, Polygon, box
from shapely.affinity import translate

from preprocess.errors import Refusal
from preprocess.findings import Severity
from preprocess.model.artwork.settings import Operation
from preprocess.model.artwork.source import Selection
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.machine import Machine
from preprocess.passes.simplify import Simplify, points
from preprocess.pipeline import convert
from preprocess.recipe.load import load_recipe
from preprocess.testing import check_pass
from tests.passes.strategies import artwork, shape


def disc(x=20.0, y=20.0, radius=10.0, corners=720):
    t = np.linspace(0, 2 * math.pi, corners, endpoint=False)
    return Polygon(np.round(np.column_stack((x + radius * np.cos(t), y + radius * np.sin(t))), 6))


SEEDS = artwork(
    [shape("a", disc()), shape("b", translate(disc(), 25)), shape("c", box(1, 1, 3, 3))]
)


def bench(most):
    return Bench(machine=Machine(max_points=most))


def test_it_says_how_many_points_and_how_far():
    outcome = check_pass(Simplify(within=0.05), SEEDS)
    (finding,) = outcome.findings
    left = points(outcome.artwork)
    assert finding.message.startswith(f"{2 * 721 + 5} points became {left} within a tolerance of")
    # a chord of a circle of 10 mm that is 0.05 mm off spans 2 acos(1 − 0.005) = 0.2 rad
    assert 2 * 32 <= left - 5 <= 2 * 64
    moved = float(finding.message.split("more than ")[1].split()[0])
    assert moved <= 0.05


def test_the_tolerance_rises_until_the_machine_takes_it_and_no_further():
    outcome = check_pass(Simplify(within=0.001, up_to=1.0), SEEDS, bench(80))
    assert points(outcome.artwork) <= 80
    needed = float(outcome.findings[0].message.split("tolerance of ")[1].split()[0])
    factor = 1000 ** (1 / 12)
    assert 0.001 < needed < 1.0
    less = Simplify(within=needed / factor)(SEEDS, Bench()).artwork
    assert points(less) > 80


def test_a_wide_limit_leaves_the_tolerance_as_it_is():
    outcome = check_pass(Simplify(within=0.01, up_to=1.0), SEEDS, bench(10_000))
    assert "within a tolerance of 0.01 mm" in outcome.findings[0].message


def test_points_that_are_still_too_many_are_told():
    for params in (Simplify(within=0.001), Simplify(within=0.001, up_to=0.002)):
        outcome = check_pass(params, SEEDS, bench(20))
        assert outcome.findings[-1].code == "points-still-too-many"
        assert outcome.findings[-1].severity is Severity.WARN
        assert outcome.findings[-1].message.endswith(
            "points are left, but the laser software takes 20"
        )


def test_what_cannot_be_meant_is_refused():
    with pytest.raises(Refusal, match=r"up_to is 0\.01 mm, less than within, 0\.1 mm"):
        Simplify(within=0.1, up_to=0.01)(SEEDS, bench(20))
    for nobody in (Bench(), Bench(machine=Machine())):
        with pytest.raises(Refusal, match="max_points is missing"):
            Simplify(up_to=1.0)(SEEDS, nobody)


def test_bars_stay_as_they_are():
    bars = MultiPolygon([disc(50, 50, 1.0), box(60, 0, 61, 40)])
    barred = replace(SEEDS, shapes=(replace(SEEDS.shapes[0], bars=bars), *SEEDS.shapes[1:]))
    after = check_pass(Simplify(within=0.05), barred).artwork.shapes[0]
    assert after.bars is bars
    assert shapely.get_num_coordinates(after.geometry) < 100


def test_only_what_is_chosen_loses_points():
    label = replace(SEEDS.shapes[1].sources[0], label="Moth")
    mixed = replace(SEEDS, shapes=(SEEDS.shapes[0], replace(SEEDS.shapes[1], sources=(label,))))
    after = check_pass(Simplify(within=0.05, only=Selection(label="Moth")), mixed).artwork
    assert after.shapes[0] is mixed.shapes[0]
    assert shapely.get_num_coordinates(after.shapes[1].geometry) < 100


def test_nothing_to_leave_out_is_nothing_to_tell():
    plain = artwork([shape("a", box(1, 1, 3, 3))])
    outcome = check_pass(Simplify(within=0.05), plain)
    assert (outcome.artwork, outcome.findings, outcome.changes) == (plain, (), ())


def test_guides_lose_points_too_but_do_not_count():
    guide = replace(SEEDS.shapes[1], operation=Operation.GUIDE)
    art = replace(SEEDS, shapes=(SEEDS.shapes[0], guide))
    assert points(art) == 721
    assert points(check_pass(Simplify(within=0.05), art).artwork) < 100


RECIPE = """
recipe: 1
machine: {name: bench, max_points: 60}
part: {outline: [40 mm, 30 mm]}
settings: {engrave: {power: 55 %, speed: 900 mm/s, pitch: 0.1 mm, angle: 0 deg}}
"""
SEED = b"""
<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="30mm" viewBox="0 0 40 30">
  <circle id="seed" cx="20" cy="15" r="10"/>
</svg>
"""


def run(steps):
    return convert(load_recipe(None, f"{RECIPE}passes: {steps}\n"), SEED, "seed.svg")


def test_a_drawing_that_the_software_cannot_take_is_refused_until_it_is_simplified():
    refused = run("[merge]")
    assert refused.data is None
    (finding,) = (f for f in refused.findings if f.code == "too-many-points")
    assert "simplify" in finding.remedy
    written = run("[merge, {simplify: {up_to: 0.2 mm}}]")
    assert written.data is not None
    assert written.data.count(b"L") < 60


def test_bars_stand_where_they_stood_and_the_order_is_allowed():
    steps = "merge, equalize-width: {clearance: 2 mm, bar: 0.6 mm}"
    barred = run(f"[{steps.replace(', e', ', {e')}}}]").after
    thin = run(f"[{steps.replace(', e', ', {e')}}}, {{simplify: {{up_to: 0.2 mm}}}}]")
    assert thin.data is not None
    for old, new in zip(barred.shapes, thin.after.shapes, strict=True):
        assert new.bars.equals(old.bars)
        assert 0 < new.geometry.symmetric_difference(old.geometry).area < 0.2 * old.geometry.length
