"""Faults that stop or spoil a job, each just within its limit and just beyond it."""

from __future__ import annotations

from dataclasses import replace

import pytest
from shapely import MultiLineString, MultiPolygon, box

from preprocess.marking.checks.artwork_checks import check_artwork
from preprocess.model.artwork.settings import Operation, Settings
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.machine import Machine, PowerSteps, SpeedSteps
from tests.marking import drawn

HAIR = 0.001
"""mm: far more than rounding moves, far less than anyone sees."""

PART = MultiPolygon([box(30, 20, 70, 60)])
MACHINE = Machine(name="bench galvo", field=(60.0, 50.0), spot=0.06)
BARS = MultiPolygon([box(25, 30, 26, 50), box(74, 30, 75, 50)])


def findings(*shapes, machine=MACHINE, parts=(PART,), keep_off=(), **more):
    art = replace(drawn.artwork(*shapes, parts=parts, **more), keep_off=tuple(keep_off))
    return {f.code: f for f in check_artwork(art, Bench(machine=machine))}


def stopped(*shapes, **more):
    return {c for c, f in findings(*shapes, **more).items() if f.severity == "stop"}


def plate(left=40.0, top=30.0, right=60.0, bottom=50.0, **more):
    return drawn.shape(box(left, top, right, bottom), **more)


def test_a_good_job_has_no_fault():
    assert findings(plate()) == {}
    assert findings(plate(bars=BARS)) == {}


# The field, 60 × 50 mm about the middle of the part at (50, 40): from (20, 15) to (80, 65).
@pytest.mark.parametrize("side", ["left", "top", "right", "bottom"])
def test_nothing_may_leave_the_field(side):
    edge = {"left": 20.0, "top": 15.0, "right": 80.0, "bottom": 65.0}[side]
    out = HAIR if side in ("right", "bottom") else -HAIR
    assert stopped(plate(**{side: edge})) == set()
    assert stopped(plate(**{side: edge + out})) == {"off-the-field"}


def test_how_far_it_leaves_the_field_is_told():
    found = findings(plate(right=82.5))["off-the-field"]
    assert "the field of 60 × 50 mm, by up to 2.50 mm" in found.message
    assert found.elements == ("leaf",)


def test_bars_may_not_leave_the_field_either():
    assert stopped(plate(bars=MultiPolygon([box(19.9, 30, 20.5, 50)]))) == {"off-the-field"}


def test_a_line_may_not_leave_the_field_either():
    assert stopped(drawn.shape(MultiLineString([[(50, 40), (81, 40)]]))) == {"off-the-field"}


def test_a_guide_may_leave_the_field():
    guide = plate(right=90.0, operation=Operation.GUIDE, name="datum")
    assert stopped(plate(), guide) == set()


def test_a_field_with_a_place_is_where_it_says():
    placed = replace(MACHINE, field_origin=(45.0, 15.0))
    assert stopped(plate(), machine=placed) == {"off-the-field"}
    assert stopped(plate(left=45.0), machine=placed) == set()


def test_without_a_field_it_is_told_that_nobody_looked():
    found = findings(plate(right=900.0), machine=replace(MACHINE, field=None))
    assert "off-the-field" not in found
    assert "field is missing" in found["check-turned-off"].message


# The part: 40 × 40 mm from (30, 20) to (70, 60).
@pytest.mark.parametrize("touching", [0.0, HAIR])
def test_a_bar_may_not_touch_the_part(touching):
    bars = MultiPolygon([box(28, 30, 30 + touching, 50), box(74, 30, 75, 50)])
    found = findings(plate(bars=bars))["bar-on-the-part"]
    assert (found.severity, found.elements) == ("stop", ("leaf",))


def test_a_bar_beside_the_part_is_no_fault():
    assert stopped(plate(bars=MultiPolygon([box(28, 30, 30 - HAIR, 50)]))) == set()


def test_a_bar_may_not_strike_the_second_part():
    second = MultiPolygon([box(72, 20, 79, 60)])
    parts = (PART, second)
    machine = replace(MACHINE, field=None)
    assert stopped(plate(bars=BARS), parts=parts, machine=machine) == {"bar-on-the-part"}


def test_what_reaches_beyond_the_part_is_warned_of():
    assert "beyond-the-part" not in findings(plate(left=30.0))
    found = findings(plate(left=30.0 - HAIR))["beyond-the-part"]
    assert found.severity == "warn"


CLIP = MultiPolygon([box(60, 30, 66, 36)])


def test_nothing_may_strike_a_keep_off_area():
    assert stopped(plate(), keep_off=(CLIP,)) == set()  # edge to edge
    assert stopped(plate(right=60 + HAIR), keep_off=(CLIP,)) == {"on-keep-off"}
    inside = MultiPolygon([box(45, 35, 46, 36)])
    assert stopped(plate(), keep_off=(CLIP, inside)) == {"on-keep-off"}


def test_a_line_or_a_bar_may_not_strike_a_keep_off_area():
    line = drawn.shape(MultiLineString([[(50, 33), (68, 33)]]))
    assert stopped(line, keep_off=(CLIP,)) == {"on-keep-off"}
    clip = MultiPolygon([box(74.9, 40, 78, 44)])
    assert stopped(plate(bars=BARS), keep_off=(clip,)) == {"on-keep-off"}


def test_a_guide_may_cross_a_keep_off_area():
    guide = plate(right=64.0, operation=Operation.GUIDE, name="datum")
    assert stopped(plate(), guide, keep_off=(CLIP,)) == set()


# Powers and speeds.
RANGED = replace(
    MACHINE, power=PowerSteps(from_=0.05, to=0.8), speed=SpeedSteps(from_=50.0, to=1000.0)
)


@pytest.mark.parametrize(
    ("power", "good"), [(0.05, True), (0.8, True), (0.3, True), (0.049, False), (0.801, False)]
)
def test_powers_are_those_of_the_machine(power, good):
    settings = replace(drawn.ENGRAVED, power=power)
    found = findings(plate(), machine=RANGED, settings=settings)
    assert ("power-out-of-range" not in found) == good
    if not good:
        assert found["power-out-of-range"].remedy == "choose between 5 % and 80 %"


@pytest.mark.parametrize("machine", [None, MACHINE, replace(MACHINE, power=PowerSteps(to=1.5))])
def test_no_power_is_above_100_percent_whatever_the_machine(machine):
    assert stopped(plate(), machine=machine, settings=replace(drawn.ENGRAVED, power=1.0)) == set()
    more = replace(drawn.ENGRAVED, power=1.01)
    assert stopped(plate(), machine=machine, settings=more) == {"power-out-of-range"}


def test_the_power_of_each_level_counts():
    levels = plate(level=1), plate(level=2, name="tip", left=61.0, right=62.0)
    kept = stopped(*levels, machine=RANGED, shares=(1.0, 1.6))  # of 50 %: 80 %
    assert kept == set()
    assert stopped(*levels, machine=RANGED, shares=(1.0, 1.7)) == {"power-out-of-range"}
    assert stopped(*levels, machine=RANGED, shares=(1.0, 0.08)) == {"power-out-of-range"}


def test_the_power_of_scored_lines_counts():
    line = drawn.shape(MultiLineString([[(50, 40), (60, 40)]]))
    strong = Settings(power=0.9, speed=100.0)
    assert stopped(line, machine=RANGED, score=strong) == {"power-out-of-range"}


@pytest.mark.parametrize(
    ("speed", "good"), [(50.0, True), (1000.0, True), (49.9, False), (1000.5, False)]
)
def test_speeds_are_those_of_the_machine(speed, good):
    settings = replace(drawn.ENGRAVED, speed=speed)
    found = findings(plate(), machine=RANGED, settings=settings)
    assert ("speed-out-of-range" not in found) == good
    if not good:
        assert found["speed-out-of-range"].remedy == "choose between 50 and 1000 mm/s"
        assert found["speed-out-of-range"].severity == "stop"


def test_points_are_counted():
    four = replace(MACHINE, max_points=5)  # a closed rectangle
    assert stopped(plate(), machine=four) == set()
    assert stopped(plate(), machine=replace(MACHINE, max_points=4)) == {"too-many-points"}


def test_a_line_cannot_be_engraved():
    line = drawn.shape(MultiLineString([[(50, 40), (60, 40)]]), operation=Operation.ENGRAVE)
    assert stopped(line) == {"line-to-engrave"}


def test_nothing_to_mark_stops():
    assert stopped() == {"nothing-to-mark"}
    assert stopped(plate(operation=Operation.GUIDE)) == {"nothing-to-mark"}


def test_what_is_finer_than_the_spot_is_warned_of():
    assert "below-the-spot" not in findings(plate(right=40.061))
    assert findings(plate(right=40.059))["below-the-spot"].severity == "warn"
