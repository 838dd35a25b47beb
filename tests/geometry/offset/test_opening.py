"""Openings, residue and tips against closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon, Point, Polygon, box

from preprocess.geometry.offset.opening import narrow_pieces, open_area, opening_residue
from preprocess.geometry.offset.tip_inset import inset_tips
from preprocess.geometry.offset.tips import find_tips
from preprocess.geometry.offset.width_zones import width_range, zones_by_local_width
from preprocess.geometry.overlay.partition import NODE_GRID


def wedge(half_angle, half_width=1.5):
    """A block whose right side runs out in a tip."""
    length = half_width / math.tan(math.radians(half_angle))
    return Polygon(
        [(0, -half_width), (length, 0), (0, half_width), (-6, half_width), (-6, -half_width)]
    )


@pytest.mark.parametrize("width", [0.2, 0.5, 1.0])
def test_opening_rounds_corners_by_the_disc(width):
    square = MultiPolygon([box(0, 0, 4, 4)])
    lost = square.area - open_area(square, width).area
    # four corners lose (1 − π/4) r² each
    assert lost == pytest.approx((4 - math.pi) * (width / 2) ** 2, abs=2e-3 * width)
    assert square.buffer(1e-9).covers(open_area(square, width))


def test_opening_removes_what_is_narrower():
    tag = shapely.union_all([box(0, 0, 4, 4), box(4, 1.8, 8, 2.2)])
    # the disc reaches into the mouth by r − √(r² − (0.4 / 2)²) = 0.25 − 0.15
    assert open_area(MultiPolygon([tag]), 0.5).bounds[2] == pytest.approx(4.1, abs=2e-3)
    assert open_area(MultiPolygon([tag]), 0.39).bounds[2] == pytest.approx(8, abs=0.01)
    assert open_area(MultiPolygon([box(0, 0, 9, 0.4)]), 0.5).is_empty


@pytest.mark.parametrize("half_angle", [5, 10, 20, 30])
def test_residue_of_a_tip_has_the_area_of_the_closed_form(half_angle):
    a, r = math.radians(half_angle), 0.2
    (piece,) = narrow_pieces(MultiPolygon([wedge(half_angle)]), 2 * r)
    wanted = r * r * (1 / math.tan(a) + a - math.pi / 2)
    # the disc is regrown 1.7 µm too far on purpose, along some 2 mm
    assert piece.area == pytest.approx(wanted, abs=5e-3)


def test_corners_are_no_narrow_places():
    star = shapely.union_all([box(0, 0, 4, 4), shapely.affinity.rotate(box(0, 0, 4, 4), 45)])
    assert narrow_pieces(MultiPolygon([star]), 0.5) == ()
    assert len(narrow_pieces(MultiPolygon([wedge(44)]), 0.5)) == 0


def test_a_waist_is_narrow_but_no_tip():
    dumbbell = shapely.union_all([box(0, 0, 2, 2), box(4, 0, 6, 2), box(2, 0.9, 4, 1.1)])
    assert len(narrow_pieces(MultiPolygon([dumbbell]), 0.4)) == 1
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
    assert not tip.capped


@pytest.mark.parametrize("half_angle", [3, 5, 8])
def test_beyond_the_cap_the_distance_is_cap_times_sin_a(half_angle):
    _, (tip,) = inset_tips(MultiPolygon([wedge(half_angle)]), 0.4, 0.05, 0.3)
    assert tip.retreat <= 0.3 * (1 + 1e-5)
    assert tip.by == pytest.approx(0.3 * math.sin(math.radians(half_angle)), rel=5e-3)
    assert tip.capped


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


def test_a_part_that_is_narrow_everywhere_shrinks_but_stays():
    after, (whole,) = inset_tips(MultiPolygon([box(0, 0, 5, 0.3)]), 0.4, 0.05, 1.0)
    # three quarters of the width: by × 2 × (1 − 0.3 / 0.4)
    assert whole.by == pytest.approx(0.025, abs=1e-4)
    assert after.bounds == pytest.approx((0.025, 0.025, 4.975, 0.275), abs=1e-4)
    hair, (thin,) = inset_tips(MultiPolygon([box(0, 0, 5, 0.02)]), 0.4, 0.05, 1.0)
    assert hair.area > 0.01 * 4.9
    assert thin.capped or thin.by == pytest.approx(0.005, abs=1e-4)


def test_a_stem_moves_as_a_narrow_part_of_its_width_does():
    stem = shapely.union_all([box(0, 0, 3, 3), box(3, 1.35, 9, 1.65)])
    after, (tip,) = inset_tips(MultiPolygon([stem]), 0.4, 0.05, 1.0)
    # mean width: 6 × 0.3 over half of the outline of 6 + 0.3 + 6
    assert tip.by == pytest.approx(0.05 * 2 * (1 - 2 * 1.8 / 12.3 / 0.4), rel=0.05)
    assert after.bounds[2] == pytest.approx(9 - tip.by, abs=1e-6)


def test_a_leaf_that_is_narrow_everywhere_retreats_at_its_ends():
    """A rhombus 0.39 wide and 6 long: nearly wide enough, but its two ends are sharp."""
    half = math.atan(0.195 / 3)
    leaf = Polygon([(0, 0), (3, 0.195), (6, 0), (3, -0.195)])
    after, retreats = inset_tips(MultiPolygon([leaf]), 0.4, 0.02, 9.0)
    ends = [r for r in retreats if not r.whole]
    assert len(ends) == 2
    assert [r.retreat for r in ends] == pytest.approx([0.02 / math.sin(half)] * 2, rel=0.02)
    assert after.bounds[3] == pytest.approx(0.195 - 0.02 * 2 * (1 - 0.39 / 0.4), abs=1e-3)


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


def test_width_range_of_blocks():
    tag = shapely.union_all([box(0, 0, 10, 10), box(10, 4, 25, 6)])
    assert width_range(MultiPolygon([tag]), 0.4) == pytest.approx((2, 10), rel=0.03)
    assert width_range(MultiPolygon([wedge(10)]), 0.4)[0] == pytest.approx(0.4)


def test_zones_by_width_of_a_wedge_end_where_the_disc_touches():
    """The disc of diameter w touches the sides w cos a / (2 tan a) from the tip."""
    a = math.radians(10)
    zones = zones_by_local_width(
        MultiPolygon([wedge(10)]), np.array([1.0]), least_height=0.1, angle=0.0
    )
    reach = 1.5 / math.tan(a) - shapely.get_coordinates(zones[2])[:, 0].min()
    assert reach == pytest.approx(0.5 / math.tan(a) * math.cos(a), abs=0.08)
    whole = wedge(10)
    assert zones[1].area + zones[2].area == pytest.approx(whole.area, abs=NODE_GRID * whole.length)


AREAS = st.lists(
    st.tuples(
        st.floats(0, 8), st.floats(0, 8), st.floats(0.05, 4), st.floats(0.05, 4), st.floats(0, 90)
    ),
    min_size=1,
    max_size=6,
).map(
    lambda many: shapely.union_all(
        [shapely.affinity.rotate(box(x, y, x + w, y + h), t) for x, y, w, h, t in many]
    )
)


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


@settings(max_examples=40, deadline=None)
@given(AREAS, st.floats(0.1, 1.0), st.floats(-180, 180), st.floats(-50, 50))
def test_turning_and_moving_commute_with_the_residue(area, width, angle, dx):
    move = lambda g: shapely.affinity.translate(
        shapely.affinity.rotate(g, angle, origin=(0, 0)), dx
    )
    parts = MultiPolygon(shapely.get_parts(area).tolist())
    here = opening_residue(parts, width).pieces
    there = opening_residue(MultiPolygon(shapely.get_parts(move(parts)).tolist()), width).pieces
    assert abs(shapely.area(here).sum() - shapely.area(there).sum()) < 0.1 * width**2 * (
        1 + len(here)
    )
