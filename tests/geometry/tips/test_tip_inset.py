"""Tips and their inset against closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, MultiPolygon, Point, Polygon, box
from shapely.affinity import rotate, translate

from preprocess.geometry.offset.opening import opening_residue
from preprocess.geometry.tips.find_tips import find_tips
from preprocess.geometry.tips.tip_inset import Limit, inset_tips
from tests.geometry.drawn_areas import AREAS, wedge

STROKE = 0.185
"""Width of the strokes below, mm; less than half of what counts as narrow, so ends move in full."""

BY = STROKE / 4
"""0.05 mm are asked, and a quarter of the width of a stroke is the most."""


def strokes(*lines):
    """Strokes of one width with square ends."""
    drawn = [
        LineString(line).buffer(STROKE / 2, cap_style="flat", join_style="mitre") for line in lines
    ]
    return shapely.union_all(drawn)


def ring(radius, x=0.0, y=0.0):
    at = Point(x, y)
    outer, inner = (at.buffer(radius + s * STROKE / 2, quad_segs=64) for s in (1, -1))
    return outer.difference(inner)


COMB = strokes([(-STROKE / 2, 0), (5 + STROKE / 2, 0)], *[[(x, 0), (x, 1.5)] for x in range(6)])
LETTERS = {
    "ring": (ring(4.4), 0),
    "two rings": (ring(4.4).union(ring(5)), 0),
    "O": (ring(1).union(box(0.5, 5, 3, 8)), 0),
    "8": (ring(1).union(ring(1.2, 0, 2.2)), 0),
    "I": (strokes([(0, 0), (0, 3)]), 2),
    "parallel": (strokes(*([(0, 0.3 * n), (4, 0.3 * n)] for n in range(4))), 8),
    "T": (strokes([(0, 0), (3, 0)], [(1.5, 0), (1.5, 4)]), 3),
    "cross": (strokes([(-2, 0), (2, 0)], [(0, -2), (0, 2)]), 4),
    "comb": (COMB, 6),
    "comb between blocks": (COMB.union(box(-2, -1, -0.05, 0.5)).union(box(5.05, -1, 7, 0.5)), 6),
}
"""Figures of one stroke width, and how many free ends each has."""


@pytest.mark.parametrize("turn", [0, 20, 77])
@pytest.mark.parametrize("name", LETTERS)
def test_of_strokes_of_one_width_only_the_ends_retreat(name, turn):
    """Each square end loses a rectangle: its width times the distance. All else stays."""
    drawn, ends = LETTERS[name]
    area = MultiPolygon(shapely.get_parts(rotate(drawn, turn, origin=(0, 0))).tolist())
    after, tips = inset_tips(area, 0.4, 0.05, 1.0)
    assert len(tips) == ends
    for tip in tips:
        assert tip.limit is None
        assert tip.by == pytest.approx(BY, rel=2e-3)
        assert tip.retreat == pytest.approx(BY, rel=2e-3)
        assert tip.removed == pytest.approx(BY * STROKE, rel=4e-3)
    assert area.area - after.area == pytest.approx(ends * BY * STROKE, rel=4e-3, abs=1e-9)
    around = shapely.union_all([Point(tip.at).buffer(STROKE + BY) for tip in tips])
    assert area.difference(after).difference(around).area < 1e-9


@pytest.mark.parametrize("turn", [0, 20])
def test_a_round_end_loses_the_cap_of_its_disc(turn):
    """The part of a disc beyond a chord: r² acos(h / r) − h √(r² − h²), h = r − by."""
    r = STROKE / 2
    drawn = rotate(LineString([(0, 0), (5, 0)]).buffer(r, quad_segs=64), turn)
    after, tips = inset_tips(MultiPolygon([drawn]), 0.4, 0.05, 1.0)
    h = r - BY
    lost = r * r * math.acos(h / r) - h * math.sqrt(r * r - h * h)
    assert len(tips) == 2
    assert drawn.area - after.area == pytest.approx(2 * lost, rel=0.03)


def test_a_blade_on_a_stroke_retreats_by_d_over_sin_a():
    """A stroke of one width that runs out in a straight tip: the stroke stays, the tip retreats."""
    a = math.radians(6)
    long = STROKE / 2 / math.tan(a)
    drawn = Polygon(
        [(-6, -STROKE / 2), (0, -STROKE / 2), (long, 0), (0, STROKE / 2), (-6, STROKE / 2)]
    ).union(box(-8, -2, -6, 2))
    after, (tip,) = inset_tips(MultiPolygon([drawn]), 0.4, 0.02, 1.0)
    assert tip.retreat == pytest.approx(0.02 / math.sin(a), rel=5e-3)
    assert drawn.intersection(box(-8, -2, 0, 2)).difference(after).area < 1e-5


def test_only_the_tip_that_would_break_moves_less():
    """Of 21 blades one swells behind a thin waist: that one is held, the others move in full."""
    a = math.radians(8)
    long = 0.3 / math.tan(a)
    blade = Polygon([(0, -0.3), (long, 0), (0, 0.3)])
    beaded = shapely.union_all([blade, Point(long, 0).buffer(0.09)])
    drawn = [translate(beaded if n == 7 else blade, 0, 0.7 * n) for n in range(21)]
    comb = shapely.union_all([box(-2, -1, 0, 15), *drawn])
    after, tips = inset_tips(MultiPolygon([comb]), 0.4, 0.05, 1.0)
    assert len(after.geoms) == 1
    held = [tip for tip in tips if tip.limit is not None]
    others = [tip for tip in tips if tip.limit is None]
    assert len(others) == 20
    assert [tip.by for tip in others] == pytest.approx([0.05] * 20)
    assert [tip.retreat for tip in others] == pytest.approx([0.05 / math.sin(a)] * 20, rel=2e-3)
    assert len(held) == 1
    assert held[0].limit is Limit.WHOLENESS
    assert all(tip.at[1] == pytest.approx(0.7 * 7, abs=0.1) for tip in held)


def test_a_waist_is_narrow_but_no_tip():
    dumbbell = shapely.union_all([box(0, 0, 2, 2), box(4, 0, 6, 2), box(2, 0.9, 4, 1.1)])
    assert len(opening_residue(MultiPolygon([dumbbell]), 0.4).pieces) == 1
    assert find_tips(MultiPolygon([dumbbell]), 0.4).tips == ()


def test_a_loop_of_thin_line_is_no_tip():
    loop = shapely.union_all(
        [box(0, 0, 2, 2), Point(3.5, 1).buffer(2).difference(Point(3.5, 1).buffer(1.9))]
    )
    loop = shapely.union_all([loop, box(0, 0, 2, 2)])
    assert find_tips(MultiPolygon([loop]), 0.4).tips == ()


@pytest.mark.parametrize("half_angle", [5, 8, 12, 20, 30])
@pytest.mark.parametrize("turn", [0, 33])
def test_a_straight_tip_retreats_by_d_over_sin_a(half_angle, turn):
    area = MultiPolygon([shapely.affinity.rotate(wedge(half_angle), turn, origin=(0, 0))])
    after, (tip,) = inset_tips(area, 0.4, 0.05, 9.0)
    assert tip.retreat == pytest.approx(0.05 / math.sin(math.radians(half_angle)), rel=2e-3)
    assert area.area - after.area == pytest.approx(tip.removed, rel=1e-6)
    assert tip.limit is None


@pytest.mark.parametrize("half_angle", [3, 5, 8])
def test_beyond_the_cap_the_distance_is_cap_times_sin_a(half_angle):
    _, (tip,) = inset_tips(MultiPolygon([wedge(half_angle)]), 0.4, 0.05, 0.3)
    assert tip.retreat <= 0.3 * (1 + 1e-5)
    assert tip.by == pytest.approx(0.3 * math.sin(math.radians(half_angle)), rel=5e-3)
    assert tip.limit is Limit.CAP


def test_there_is_no_step_at_the_neck():
    """Along the edge the outline leaves the old one gently: no jump of the distance."""
    before = wedge(10)
    after, _ = inset_tips(MultiPolygon([before]), 0.4, 0.05, 9.0)
    (part,) = after.geoms
    a = math.radians(10)
    along = np.linspace(0, 1.5 / math.sin(a) - 0.05 / math.tan(a), 400)
    points = shapely.points(along * math.cos(a), 1.5 - along * math.sin(a))
    moved = shapely.distance(points, part)
    assert moved[0] == 0
    assert moved.max() == pytest.approx(0.05, rel=0.01)
    depth = 0.2 / math.sin(a) - 0.2
    assert np.diff(moved).max() < 2 * 0.05 / depth * (along[1] - along[0])
    assert (np.diff(moved) > -1e-4).all()
    wide = before.intersection(box(-7, -2, 1.5 / math.tan(a) - 0.2 / math.tan(a) - 0.3, 2))
    assert wide.difference(part).area < 1e-9


def test_a_stem_moves_at_its_end_alone():
    stem = shapely.union_all([box(0, 0, 3, 3), box(3, 1.35, 9, 1.65)])
    after, (tip,) = inset_tips(MultiPolygon([stem]), 0.4, 0.05, 1.0)
    # three quarters of the width: by × 2 × (1 − 0.3 / 0.4)
    assert (tip.by, tip.retreat) == pytest.approx((0.025, 0.025), abs=1e-6)
    assert stem.difference(after).equals_exact(box(8.975, 1.35, 9, 1.65), 1e-5, normalize=True)


def test_a_leaf_that_is_narrow_everywhere_retreats_at_its_ends():
    """A rhombus 0.39 wide and 6 long: nearly wide enough, but its two ends are sharp."""
    half = math.atan(0.195 / 3)
    leaf = Polygon([(0, 0), (3, 0.195), (6, 0), (3, -0.195)])
    after, retreats = inset_tips(MultiPolygon([leaf]), 0.4, 0.02, 9.0)
    assert [r.retreat for r in retreats] == pytest.approx([0.02 / math.sin(half)] * 2, rel=0.02)
    assert after.bounds[3] == pytest.approx(0.195, abs=1e-3)


def test_no_step_shows_between_corners_and_tips():
    """From 90 degrees, a corner, to 50, a tip, the retreat grows steadily to 0.05 / sin a."""
    retreats = []
    for degrees in np.arange(90.0, 50.0, -1.0):
        a = math.radians(degrees / 2)
        tip = Polygon([(0, -5 * math.tan(a)), (0, 5 * math.tan(a)), (5, 0)])
        _, found = inset_tips(MultiPolygon([tip]), 0.6, 0.05, 9.0)
        retreats.append(sum(r.retreat for r in found if r.at[0] > 4.9))
    assert retreats[0] == 0
    assert retreats[-1] == pytest.approx(0.05 / math.sin(math.radians(25.5)), rel=0.01)
    assert np.diff(retreats).min() >= 0
    assert np.diff(retreats).max() < 0.1 * retreats[-1]


def test_a_needle_retreats_by_no_more_than_the_cap_or_stays():
    """Ends that do not retreat in proportion: the last step back is a long one."""
    for length in (3.0, 8.0, 20.0, 60.0):
        needle = Polygon([(0, -0.5), (0, 0.5), (1, 0.02), (length, 0.0), (1, -0.02)])
        whole = shapely.union_all([box(-4, -2, 0, 2), needle])
        after, found = inset_tips(MultiPolygon([whole]), 0.5, 0.2, 0.3)
        assert all(r.retreat <= 0.3 * (1 + 1e-4) for r in found)
        assert after.bounds[2] >= whole.bounds[2] - 0.3 * (1 + 1e-4)


def test_a_near_neighbour_is_not_bitten():
    """Two prongs of one fork, 0.02 mm apart, lose nothing to the discs of the other."""
    fork = shapely.union_all([box(0, 0, 2, 3), box(2, 1, 4, 1.3), box(2, 1.32, 4, 3)])
    after, tips = inset_tips(MultiPolygon([fork]), 0.4, 0.05, 1.0)
    assert len(tips) == 1
    assert fork.intersection(box(2.01, 1.31, 5, 3)).difference(after).area < 1e-4


@settings(max_examples=60, deadline=None)
@given(AREAS, st.floats(0.1, 1.0), st.floats(0.01, 0.2), st.floats(0.05, 2.0))
def test_inset_never_grows_and_no_part_is_lost(area, width, by, cap):
    parts = MultiPolygon(shapely.get_parts(area).tolist())
    after, retreats = inset_tips(parts, width, by, cap)
    assert after.is_valid
    assert len(after.geoms) == len(parts.geoms)
    assert after.difference(parts).area < 1e-9
    assert all(r.retreat <= cap * (1 + 1e-4) for r in retreats)
    assert parts.area - after.area == pytest.approx(sum(r.removed for r in retreats), abs=1e-4)
