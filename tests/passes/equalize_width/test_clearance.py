"""Bars and their light keep clear of parts, keep-off areas and the edge of the field.

Every limit is by hand. The beam leans by x / f: on a bed h below the marked surface its light lands
h x / f farther from the axis, and is as wide as the defocused beam.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
import shapely
from shapely import MultiPolygon, box

from preprocess.errors import Refusal
from preprocess.marking.job.plan import plan_of
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.machine import Machine
from preprocess.model.bench.part import Part
from preprocess.passes.equalize_width import EqualizeWidth
from preprocess.passes.equalize_width.clearance import Obstacles
from preprocess.passes.equalize_width.lay_out import GroupBars
from preprocess.passes.equalize_width.room import expect_room, part_extent
from preprocess.passes.equalize_width.telecentric_error import (
    TelecentricError,
    telecentric_error_of,
)
from tests.passes.benches import artwork, shape

PART = MultiPolygon([box(40, 20, 60, 40)])
BESIDE = (box(37.4, 25, 38.0, 35), box(62.0, 25, 62.6, 35))  # 2 mm from the part
BESIDE_TOO = MultiPolygon([box(64.0, 20, 70, 40)])  # 1.4 mm from the right bar
MIDDLE, FAR_RIGHT = (50.0, 30.0), (102.0, 30.0)
UPRIGHT = TelecentricError(axis=MIDDLE)
LEAN = TelecentricError(axis=MIDDLE, height=8.0, focal_length=160.0, half_spot=0.3)
"""1 mm out for every 20."""

LEAN_TO_THE_LEFT = replace(LEAN, axis=FAR_RIGHT)


def barred(*bars):
    return [GroupBars(group=None, bars=MultiPolygon(bars), span=25.2, lane=0, centre=50.0, rows=1)]


def obstacles(slant=UPRIGHT, parts=(PART,), keep_off=(), clearance=2.0):
    return Obstacles(parts=parts, keep_off=keep_off, clearance=clearance, slant=slant)


def clears(bars, clearance, slant=UPRIGHT, parts=(PART,)):
    try:
        obstacles(slant, parts, clearance=clearance).expect_clear(barred(*bars))
    except Refusal:
        return False
    return True


def test_bars_keep_the_clearance_from_every_part():
    assert clears(BESIDE, 2.0)
    assert not clears(BESIDE, 2.001)
    assert not clears(BESIDE, 2.0, parts=(PART, BESIDE_TOO))
    assert not clears(BESIDE, 2.001, replace(LEAN, half_spot=0.0))  # its light lands 2.6 mm away


def test_light_that_lands_nearer_counts():
    # axis 40 mm right of the right bar's inner edge: the light lands 40 · 8 / 160 = 2 mm nearer
    assert clears(BESIDE, 2.0, replace(UPRIGHT, axis=FAR_RIGHT))
    assert not clears(BESIDE, 0.1, LEAN_TO_THE_LEFT)
    farther = (box(66.0, 25, 66.6, 35),)  # 36 mm: lands at 64.2, 4.2 mm away, less 0.3 mm of beam
    assert clears(farther, 3.89, LEAN_TO_THE_LEFT)
    assert not clears(farther, 3.91, LEAN_TO_THE_LEFT)


@pytest.mark.parametrize(("radius", "clear"), [(0.0, True), (0.59, True), (0.61, False)])
def test_the_radius_of_the_defocused_beam_counts(radius, clear):
    # axis in the middle: the light of the right bar lands at 62.6, 2.6 mm from the part
    assert clears(BESIDE, 2.0, replace(LEAN, half_spot=radius)) is clear


def test_the_radius_grows_with_height_and_wavelength():
    # waist 0.03 mm, 1.064 µm: Rayleigh length 2.657 mm; 8 mm away √(1 + 3.0106²) = 3.1725 times
    machine = Machine(focal_length=160.0, spot=0.06, wavelength=1.064e-3)
    parts = (Part(outline=(9, 9), height=2.0), Part(outline=(9, 9), height=8.0))
    slant = telecentric_error_of(Bench(machine=machine, parts=parts), MIDDLE)
    assert slant.half_spot == pytest.approx(0.03 * 3.1725, rel=1e-4)
    assert slant.shift(20.0) == pytest.approx(1.0)


@pytest.mark.parametrize(("away", "struck"), [(0.0, True), (0.0005, True), (0.002, False)])
def test_a_bar_strikes_no_keep_off_area(away, struck):
    clip = MultiPolygon([box(62.6 + away, 30, 66, 33)])
    elsewhere = MultiPolygon([box(0, 0, 1, 1)])
    if struck:
        with pytest.raises(Refusal, match="keep-off area"):
            obstacles(keep_off=[elsewhere, clip]).expect_kept_off(barred(*BESIDE))
    else:
        obstacles(keep_off=[elsewhere, clip]).expect_kept_off(barred(*BESIDE))


@pytest.mark.parametrize(("left", "struck"), [(63.2, True), (63.52, True), (63.54, False)])
def test_the_light_of_a_bar_strikes_none_either(left, struck):
    # the outer edge at 62.6 lands at 50 + 12.6 · 1.05 = 63.23, and its beam reaches 63.53
    clip = MultiPolygon([box(left, 30, 66, 33)])
    obstacles(keep_off=[clip]).expect_kept_off(barred(*BESIDE))
    if struck:
        with pytest.raises(Refusal, match="keep-off area"):
            obstacles(LEAN, keep_off=[clip]).expect_kept_off(barred(*BESIDE))
    else:
        obstacles(LEAN, keep_off=[clip]).expect_kept_off(barred(*BESIDE))


def has_room(*bars, **more):
    return obstacles(**more).clear(shapely.get_parts(MultiPolygon(bars))).tolist()


def test_a_search_asks_for_the_same_room():
    near = (box(37.6, 25, 38.1, 35), box(62.0, 25, 62.6, 35))
    assert has_room(*BESIDE) == [True, True]
    assert has_room(*near) == [False, True]
    outward = replace(LEAN, half_spot=0.0)  # light of the left bar lands at 50 - 11.9 · 1.05
    assert has_room(*near, slant=outward) == [False, True]
    assert has_room(*BESIDE, parts=(PART, BESIDE_TOO)) == [True, False]
    clip = MultiPolygon([box(62.6, 30, 66, 33)])
    assert has_room(*BESIDE, keep_off=(clip,)) == [True, False]


def test_a_search_asks_for_room_for_the_light_too():
    assert has_room(*BESIDE, slant=LEAN_TO_THE_LEFT) == [True, False]
    wide = replace(LEAN, half_spot=0.61)
    assert has_room(*BESIDE, slant=wide) == [False, False]
    assert has_room(*BESIDE, slant=replace(LEAN, half_spot=0.59)) == [True, True]
    clip = MultiPolygon([box(63.5, 30, 66, 33)])
    assert has_room(*BESIDE, keep_off=(clip,), slant=LEAN) == [True, False]
    assert has_room(*BESIDE, keep_off=(clip,)) == [True, True]


@pytest.mark.parametrize(
    ("axis", "grown"),
    [((20.0, 30.0), 1.3), ((80.0, 30.0), 1.3), ((50.0, 30.0), 0.0), ((0.0, 30.0), 2.3)],
)
def test_clearance_grows_by_lean_and_beam_on_the_side_of_the_axis(axis, grown):
    # 20 mm between axis and part: 20 · 8 / 160 = 1 mm, and 0.3 mm of beam
    side = part_extent(obstacles(replace(LEAN, axis=axis)), 0.0)
    assert side.grown == pytest.approx(grown)
    assert side.span(0.6) == pytest.approx(20 + 2 * (2.0 + grown + 0.6))


def test_rows_that_run_down_the_page_lean_down_the_page():
    left, low = (obstacles(replace(LEAN, axis=axis)) for axis in ((20.0, 30.0), (50.0, 80.0)))
    assert part_extent(left, 90.0).grown == pytest.approx(0.0)
    assert part_extent(low, 90.0).grown == pytest.approx(2.3)


WISH = EqualizeWidth(clearance=2.0, bar=0.6, gap=0.4, field_margin=0.5, span=25.2)


@pytest.mark.parametrize("side", range(4))
def test_bars_keep_the_margin_of_the_field(side):
    # bars fill 37.4 … 62.6 by 25 … 35; half a millimetre more on each side is just enough
    edges = [36.9, 24.5, 63.1, 35.5]
    expect_room(grouped(), PART, box(*edges), WISH)
    edges[side] += 0.01 if side < 2 else -0.01
    with pytest.raises(Refusal, match="bars have no room"):
        expect_room(grouped(), PART, box(*edges), WISH)


def grouped():
    leaf = artwork([shape("a", box(45, 25, 55, 35))], [box(40, 20, 60, 40)])
    (group,) = plan_of(leaf, Machine()).steps
    return [replace(one, group=group) for one in barred(*BESIDE)]


def refused(keep_off=(), field=(60.0, 60.0), **more):
    """Words of the refusal of bars beside a label of 40 × 28 mm on a page of 60 × 40 mm."""
    art = artwork([shape("a", box(20, 10, 30, 16))], [box(10, 6, 50, 34)], keep_off=keep_off)
    try:
        EqualizeWidth(**more)(art, Bench(machine=Machine(field=field)))
    except Refusal as refusal:
        return refusal.found
    return ""


def test_the_pass_asks_all_of_them():
    assert refused() == ""
    assert "the clearance is 2 mm" in refused(span=44.0)
    assert "bars have no room" in refused(field=(45.3, 60.0))
    assert "keep-off area" in refused(keep_off=[box(52, 10, 53, 12)])


def test_rounding_of_the_file_cannot_eat_the_clearance():
    art = artwork([shape("a", box(20, 10, 30, 16))], [box(10, 6, 50, 34)])
    out = EqualizeWidth(clearance=1.0)(art, Bench())
    least = out.artwork.shapes[0].bars.distance(art.parts[0])
    grid = 10.0**-art.drawing.decimals
    assert 1.0 + grid <= least <= 1.0 + 2 * grid  # a vertex moves by half a step, on both sides
