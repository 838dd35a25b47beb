"""The run-up of a gantry against v²/2a by hand, on rows at any angle."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from shapely import box

from preprocess.marking.checks.artwork_checks import check_artwork
from preprocess.model.artwork.settings import Operation
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.machine import Machine, Mover, SpeedSteps
from tests.marking import drawn

GANTRY = Machine(
    name="bed", mover=Mover.GANTRY, acceleration=2000.0, field=(60.0, 40.0), field_origin=(0, 0)
)


def found(x, *, machine=GANTRY, angle=0.0, speed=200.0, bars=None, size=(10, 4), y=18.0):
    """Of a plate of 10 × 4 mm at x, 18 mm in a field of 60 × 40 mm."""
    plate = box(x, y, x + size[0], y + size[1])
    settings = replace(drawn.ENGRAVED, speed=speed, angle=angle)
    art = drawn.artwork(drawn.shape(plate, bars=bars), settings=settings)
    return [
        f for f in check_artwork(art, Bench(machine=machine)) if f.code == "run-up-beyond-field"
    ]


def test_200_mm_per_s_at_2000_mm_per_s2_need_10_mm():
    assert found(10.0) == []
    assert found(40.0) == []  # 10 mm on the right
    (left,), (right,) = found(9.9), found(40.1)
    assert left.severity == right.severity == "stop"
    assert "need 10.0 mm of run-up" in left.message
    assert "the field leaves 9.9 mm" in left.message


def test_the_speed_that_fits_is_told_and_fits():
    (stop,) = found(4.0)
    assert "mark it at 126 mm/s at most" in stop.remedy  # √(2 · 2000 · 4) = 126.49
    assert found(4.0, speed=126.0) == []
    assert found(4.0, speed=127.0) != []


@pytest.mark.parametrize(
    ("angle", "free"),
    [(90.0, 18.0), (0.0, 12.0), (45.0, 12.0 * math.sqrt(2)), (60.0, 18.0 / math.sin(math.pi / 3))],
)
def test_room_is_measured_along_the_rows(angle, free):
    # 12 mm on the left and 18 mm above and below; at 45° 12 mm sideways are 12 √2 along a row
    speed = math.sqrt(2 * 2000.0 * free)
    assert found(12.0, angle=angle, speed=speed - 0.1) == []
    assert len(found(12.0, angle=angle, speed=speed + 0.1)) == 1


def test_bars_are_swept_too():
    bars = drawn.area_of(box(8.0, 18.0, 8.6, 22.0), box(31.4, 18.0, 32.0, 22.0))
    assert len(found(15.0, bars=bars)) == 1
    assert found(15.0) == []


def test_where_nothing_is_left_no_speed_is_offered():
    slow = replace(GANTRY, speed=SpeedSteps(from_=50.0))
    (stop,) = found(0.5, machine=slow)  # √(2 · 2000 · 0.5) = 44.7 mm/s
    assert "mm/s at most" not in stop.remedy
    assert "smaller with place" in stop.remedy


def of_overscan(x, mm, **more):
    machine = replace(GANTRY, overscan=mm)
    plate = box(x, 18, x + 10, 22)
    settings = replace(drawn.ENGRAVED, speed=more.pop("speed", 200.0), angle=0.0)
    art = drawn.artwork(drawn.shape(plate), settings=settings)
    found = check_artwork(art, Bench(machine=replace(machine, **more)))
    return {f.code: f for f in found if "overscan" in f.code or "run-up" in f.code}


def test_an_overscan_must_hold_the_run_up_and_the_field_the_overscan():
    # 200 mm/s at 2000 mm/s²: 10 mm
    assert of_overscan(20.0, 10.0) == {}
    assert of_overscan(20.0, 20.0) == {}
    (short,) = of_overscan(20.0, 4.0).values()
    assert (short.code, short.severity) == ("overscan-below-run-up", "stop")
    assert "need 10.0 mm" in short.message
    assert "adds 4.0 mm" in short.message
    assert "mark it at 126 mm/s at most" in short.remedy
    assert of_overscan(20.0, 4.0, speed=126.0) == {}
    (beyond,) = of_overscan(20.0, 20.5).values()
    assert (beyond.code, beyond.severity) == ("overscan-beyond-field", "stop")
    assert "leaves 20.0 mm" in beyond.message


def test_an_overscan_is_checked_without_a_field_too():
    assert set(of_overscan(20.0, 4.0, field=None, field_origin=None)) == {"overscan-below-run-up"}


def test_no_overscan_at_all_leaves_no_speed():
    (stop,) = of_overscan(20.0, 0.0).values()
    assert "mm/s at most" not in stop.remedy


def test_mirrors_have_no_overscan():
    assert of_overscan(20.0, 0.0, mover=Mover.GALVO) == {}


def test_an_assumed_acceleration_only_warns():
    (warning,) = found(4.0, machine=replace(GANTRY, acceleration=None))
    assert warning.severity == "warn"
    assert "assumed 3000 mm/s²" in warning.message
    assert "name the machine's acceleration" in warning.remedy


@pytest.mark.parametrize(
    "machine",
    [
        replace(GANTRY, mover=Mover.GALVO),
        replace(GANTRY, field=None),
        replace(GANTRY, acceleration=None, turnaround=0.1),
    ],
)
def test_mirrors_and_unknown_fields_and_given_turnarounds_need_none(machine):
    assert found(4.0, machine=machine) == []


def test_lines_are_followed_without_run_up():
    line = drawn.MultiLineString([[(1, 1), (59, 39)]])
    art = drawn.artwork(drawn.shape(line, operation=Operation.SCORE))
    assert not [f for f in check_artwork(art, Bench(machine=GANTRY)) if "run-up" in f.code]
