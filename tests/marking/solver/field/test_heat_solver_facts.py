"""Facts of the craft that must come out by themselves."""

import dataclasses

import numpy as np
import pytest
from shapely import MultiPolygon, box

from preprocess.marking.solver.field.heat_solver import solve_heat
from preprocess.model.bench.machine import RasterGroups
from tests.marking.brute import peak
from tests.marking.drawn import area_of, artwork, shape, square, triangle
from tests.marking.moving import raster, rows_peak
from tests.marking.struck import DIFFUSE, GALVO, SHARP, at, settings, solved, struck

TOGETHER = dataclasses.replace(GALVO, raster_groups=RasterGroups.EACH_COLOUR)
DOTS = [shape(square(8 * i, 0, 4), name=f"dot-{i}") for i in range(6)]


@pytest.mark.parametrize("stuff", [SHARP, DIFFUSE], ids=["sharp", "diffuse"])
def test_two_way_rows_pair_up_at_both_ends_of_wide_areas_and_one_way_rows_do_not(stuff):
    for two_way, least, most in ((True, 1.1, 1.4), (False, 0.98, 1.02)):
        field = solved(box(0, 0, 34, 3), stuff, two_way=two_way)
        for end in (0.45, 33.55):
            ratio = max(at(field, end, 2.0), at(field, end, 2.1)) / at(field, 17.05, 2.05)
            assert least < ratio < most


@pytest.mark.parametrize(("stuff", "least"), [(SHARP, 1.1), (DIFFUSE, 1.35)])
def test_a_dot_alone_runs_hotter_than_an_inner_dot_of_a_compound(stuff, least):
    art = artwork(*DOTS, settings=settings(two_way=False))
    (swept,), apart = struck(art, machine=TOGETHER), struck(art)
    (compound,) = solve_heat([swept], stuff, 0.1)
    alone = solve_heat(apart, stuff, 0.1)[2]
    ratio = at(alone, 18.05, 2.0) / at(compound, 18.05, 2.0)
    point = (18.05, 2.0)
    by_hand = peak(apart[:3], apart[2], stuff, point) / peak([swept], swept, stuff, point)
    assert ratio == pytest.approx(by_hand, abs=0.015)
    assert ratio > least


def test_bars_cool_the_tip():
    body, solid = area_of(box(-1, -1, 37, 51)), triangle()
    bars = area_of(box(-5, 0, -2, 50), box(38, 0, 41, 50))
    how = settings(two_way=False)
    (bare,) = solve_heat(struck(artwork(shape(solid), settings=how), body), SHARP, 0.1)
    barred = shape(solid, bars=bars)
    (cooled,) = solve_heat(struck(artwork(barred, settings=how), body), SHARP, 0.1)
    tip = (18.01, 50 * (1 - 1 / 36))
    assert at(cooled, *tip) < 0.85 * at(bare, *tip)
    ratio = at(cooled, *tip) / at(cooled, 18.01, 5.0)
    assert 0.8 < ratio < 1.1


def test_bars_add_no_heat_to_the_part_but_time():
    # bars of 3 + 3 mm, each 2 mm off the part, are a longer turnaround and nothing else
    body = area_of(box(-1, -1, 7, 5))
    bars = area_of(box(-6, 0, -3, 4), box(9, 0, 12, 4))
    how = settings(two_way=False)
    barred = struck(artwork(shape(box(0, 0, 6, 4), bars=bars), settings=how), body)
    longer = GALVO.turnaround + 12 / 300 + 12 / 2500
    slow = dataclasses.replace(GALVO, turnaround=longer)
    bare = struck(artwork(shape(box(0, 0, 6, 4)), settings=how), body, machine=slow)
    assert sum(s.energy * (s.end - s.start).sum() for s in barred) == pytest.approx(
        sum(s.energy * (s.end - s.start).sum() for s in bare)
    )
    (one,), (other,) = solve_heat(barred, SHARP, 0.1), solve_heat(bare, SHARP, 0.1)
    assert one.peak == pytest.approx(other.peak, rel=1e-6)


def test_bars_warm_nothing_where_no_part_is_known_either():
    bars = area_of(box(-6, 0, -3, 4))
    (strike,) = struck(artwork(shape(box(0, 0, 6, 4), bars=bars), settings=settings()))
    assert strike.start.min() == 0.0


def test_each_part_is_a_body_of_its_own_and_shares_only_the_clock():
    left, right = area_of(box(0, 0, 5, 5)), area_of(box(5.2, 0, 10, 5))
    leaves = [shape(box(0.5, 1, 5, 4), name="a"), shape(box(5.2, 1, 9, 4), name="b")]
    art = artwork(*leaves, settings=settings())
    (on_left,), (on_right,) = struck(art, left), struck(art, right)
    assert on_left.end.max() == 5.0
    assert on_right.start.min() == 5.2
    assert on_right.begins > on_left.ends
    (field,) = solve_heat([on_right], SHARP, 0.1)
    alone = struck(artwork(leaves[1], settings=settings()))
    assert field.peak == pytest.approx(solve_heat(alone, SHARP, 0.1)[0].peak, rel=1e-4)


def test_the_finer_the_pitch_the_more_narrow_rows_stand_out():
    ratios, by_hand = [], []
    beam = {"speed": 300.0, "depth": 0.05, "sigma": 0.02, "smooth": 0.3**2 / 12, "later": 12}
    for pitch in (0.05, 0.1, 0.2):
        # as much energy per area at every pitch, a narrow and a wide strip
        how = {"pitch": pitch, "power": pitch / 0.2, "two_way": False}
        narrow, wide = (solved(box(0, 0, width, 6), **how) for width in (1.0, 36.0))
        ratios.append(at(narrow, 0.55, 3.0) / at(wide, 18.05, 3.0))
        kelvin = []
        for width, u in ((1.0, 0.55), (36.0, 18.05)):
            spans = [(0.0, width)] * round(6 / pitch)
            rows = raster(spans, speed=300.0, energy=3e-3, two_way=False, pitch=pitch)
            kelvin.append(rows_peak(rows, round(3 / pitch), u, **beam))
        by_hand.append(kelvin[0] / kelvin[1])
    assert ratios[0] > ratios[1] > ratios[2]
    assert ratios == pytest.approx(by_hand, abs=0.02)


@pytest.mark.parametrize("pitch", [0.05, 0.08, 0.1])
@pytest.mark.parametrize("stuff", [SHARP, DIFFUSE], ids=["sharp", "diffuse"])
@pytest.mark.parametrize("two_way", [True, False])
def test_up_to_a_pitch_of_a_tenth_narrow_rows_run_hotter_than_wide_ones(pitch, stuff, two_way):
    how = {"pitch": pitch, "two_way": two_way}
    widths = (36.0, 8.0, 1.0)
    kelvin = [
        at(solved(box(0, 0, w, 4), stuff, **how), 0.05 + int(5 * w) / 10, 2.5) for w in widths
    ]
    assert kelvin[0] < kelvin[1] < kelvin[2]
    assert kelvin[2] > 1.2 * kelvin[0]


LEVELS = [
    shape(box(0, 0, 12, 2), name="wide", level=1),
    shape(MultiPolygon([box(5, 2, 7, 4)]), name="narrow", level=2),
]


def test_swapping_two_levels_changes_the_tip_as_a_separate_calculation_says():
    for shares in ((1.0, 0.8), (0.8, 1.0)):
        art = artwork(*LEVELS, settings=settings(), shares=shares)
        every = struck(art)
        tip = solve_heat(every, SHARP, 0.1)[1]
        point = (tip.columns.centres[9], tip.exposure.y[11])
        assert tip.peak[11, 9] == pytest.approx(peak(every, every[1], SHARP, point), rel=0.01)


def test_removing_the_bars_changes_the_tip_as_a_separate_calculation_says():
    body = area_of(box(-1, -1, 13, 7))
    solid = triangle(width=12, height=6)
    bars = area_of(box(-4, 0, -2, 6), box(14, 0, 16, 6))
    found, wanted = [], []
    for piece in (shape(solid, bars=bars), shape(solid)):
        every = struck(artwork(piece, settings=settings()), body)
        (field,) = solve_heat(every, SHARP, 0.1)
        row, column = 50, field.lit[50].nonzero()[0][0]
        point = (field.columns.centres[column], field.exposure.y[row])
        found.append(field.peak[row, column])
        wanted.append(peak(every, every[0], SHARP, point))
    assert found == pytest.approx(wanted, rel=0.01)
    assert np.diff(found)[0] > 0.05 * found[0]


def test_the_first_rows_are_cooler_and_the_middle_is_steady():
    field = solved(square(0, 0, 16))
    rows = field.peak[:, 80]
    assert 0.6 < rows[0] / rows[80] < 0.8
    assert rows[8:150] == pytest.approx(rows[80], rel=0.015)
