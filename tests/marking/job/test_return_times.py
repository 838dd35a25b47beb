"""Return times of rows, and levels by them, against hand calculations."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from shapely import box

from preprocess.errors import Refusal
from preprocess.marking.job.plan import plan_of
from preprocess.marking.job.return_times import return_times
from preprocess.model.artwork.settings import Direction
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.machine import FirstRow, Gaps, Machine, Mover
from preprocess.passes.tag_power.tag_power import PowerBy, TagPower
from tests.marking.drawn import ENGRAVED, area_of, artwork, shape

GALVO = Machine(turnaround=2e-3, fly_back=2000.0)
TWO_WAY = dataclasses.replace(ENGRAVED, direction=Direction.TWO_WAY)


def returns(geometry, machine=GALVO, settings=ENGRAVED, min_rows=0):
    (group,) = plan_of(artwork(shape(geometry), settings=settings), machine).steps
    return return_times(group, machine, min_rows)


@pytest.mark.parametrize(
    ("machine", "settings", "wanted"),
    [
        # 6 mm at 300 mm/s are 20 ms, back at 2000 mm/s 3 ms, 2 ms to turn
        (GALVO, ENGRAVED, 25e-3),
        (GALVO, TWO_WAY, 22e-3),
        # v/a = 0.1 s to rest and 0.1 s up to speed again
        (Machine(mover=Mover.GANTRY, acceleration=3000.0, fly_back=500.0), TWO_WAY, 0.22),
    ],
    ids=["one-way", "two-way", "gantry"],
)
def test_rows_return_after_row_turn_and_way_back(machine, settings, wanted):
    found = returns(box(0, 0, 6, 1), machine, settings)
    assert found.row.tolist() == list(range(10))
    assert found.value == pytest.approx(np.full(10, wanted), rel=1e-12)


def test_a_row_counts_until_the_next_and_the_last_like_the_one_before():
    # rows of 6 mm (25 ms) and from the 6th on of 3 mm (10 + 1.5 + 2 ms)
    found = returns(area_of(box(0, 0, 6, 0.5), box(0, 0.5, 3, 1)))
    assert found.value == pytest.approx([25e-3] * 5 + [13.5e-3] * 5)


def test_a_row_without_neighbours_is_never_returned_to():
    found = returns(area_of(box(0, 0, 6, 0.5), box(0, 0.9, 6, 1)))
    assert found.row.tolist() == [0, 1, 2, 3, 4, 9]
    assert np.isinf(found.value).tolist() == [False] * 5 + [True]


def test_very_short_rows_count_as_a_few_pitches():
    # 4 pitches of 0.1 mm at 300 and 2000 mm/s with no time to turn: 1.333 + 0.2 ms
    quick = dataclasses.replace(GALVO, turnaround=0.0)
    found = returns(box(0, 0, 0.05, 1), quick, min_rows=4)
    assert found.value == pytest.approx(0.4 / 300 + 0.4 / 2000)


@pytest.mark.parametrize("angle", [0.0, 90.0])
@pytest.mark.parametrize("rule", list(FirstRow))
def test_levels_end_at_borders_of_rows(angle, rule):
    machine = dataclasses.replace(GALVO, turnaround=10e-3, first_row=rule)
    settings = dataclasses.replace(ENGRAVED, angle=angle)
    # by hand, a row of w mm returns after w × (1/300 + 1/2000) s + 10 ms:
    # 40 mm 163.3 ms, 6 mm 33 ms, 2 mm 17.7 ms; two levels part at √(163.3 × 17.7) = 53.7 ms
    blocks = [box(5, 5, 45, 8), box(5, 8, 11, 11), box(5, 11, 7, 14)]
    if angle:
        blocks = [box(y0, 50 - x1, y1, 50 - x0) for x0, y0, x1, y1 in (b.bounds for b in blocks)]
    art = artwork(shape(area_of(*blocks)), settings=settings)
    out = TagPower(by=PowerBy.RETURN_TIME, levels=2)(art, Bench(machine=machine))
    assert "return times of 53.7 ms" in out.findings[0].message
    first, second = sorted(out.artwork.shapes, key=lambda s: s.level)
    # rows on the grid of the page may lie on the border, and the zones then part half a pitch away
    near = 0.05 * 40 + 1e-6 if rule is FirstRow.PAGE else 1e-6
    assert first.geometry.area == pytest.approx(120, abs=near)
    assert first.geometry.area + second.geometry.area == pytest.approx(144)


def test_a_gap_that_is_jumped_shortens_the_return_and_one_that_is_swept_does_not():
    trough = area_of(box(0, 0, 4, 2), box(36, 0, 40, 2), box(0, 2, 40, 4))
    art = artwork(shape(trough), settings=TWO_WAY)
    swept = TagPower(by=PowerBy.RETURN_TIME, levels=2)(art, Bench(machine=GALVO))
    assert swept.findings[0].code == "one-level"
    assert "return equally soon" in swept.findings[0].message
    jumping = dataclasses.replace(GALVO, gaps=Gaps.JUMPED)
    jumped = TagPower(by=PowerBy.RETURN_TIME, levels=2)(art, Bench(machine=jumping))
    areas = {s.level: s.geometry for s in jumped.artwork.shapes}
    assert areas[1].equals(box(0, 2, 40, 4))
    assert areas[2].equals(area_of(box(0, 0, 4, 2), box(36, 0, 40, 2)))


def test_what_was_assumed_of_the_machine_is_said():
    art = artwork(shape(area_of(box(0, 0, 40, 2), box(0, 2, 4, 4))))
    (zones, *_) = TagPower(by=PowerBy.RETURN_TIME)(art, Bench()).findings
    assert "assumed: a turnaround of 1.2 ms, dark moves at the speed of the rows" in zones.message
    (plain, *_) = TagPower(by=PowerBy.ROW_SPAN)(art, Bench()).findings
    assert "assumed" not in plain.message


def test_without_a_speed_it_says_what_to_add():
    settings = dataclasses.replace(ENGRAVED, speed=None)
    art = artwork(shape(box(0, 0, 6, 1)), settings=settings)
    with pytest.raises(Refusal, match="layer 'artwork' has no speed") as caught:
        TagPower(by=PowerBy.RETURN_TIME)(art, Bench(machine=GALVO))
    assert "speed: 900 mm/s" in caught.value.remedy
    TagPower(by=PowerBy.ROW_SPAN)(art, Bench(machine=GALVO))


def test_without_a_pitch_it_says_what_to_add():
    settings = dataclasses.replace(ENGRAVED, pitch=None)
    art = artwork(shape(box(0, 0, 6, 1)), settings=settings)
    with pytest.raises(Refusal, match="has no pitch"):
        TagPower(by=PowerBy.RETURN_TIME)(art, Bench(machine=GALVO))
