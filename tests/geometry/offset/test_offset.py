"""Offsets against closed forms and against measured distances."""

import math

import numpy as np
import pytest
import shapely
from shapely import MultiPolygon, Point, Polygon, box

from preprocess.geometry.base.normalise import NOTHING
from preprocess.geometry.offset.offset import grow_area, shrink_area


def one(shape):
    return MultiPolygon([shape])


def leaf(count=3000):
    """A toothed leaf, about 40 mm long."""
    t = np.linspace(0, 2 * np.pi, count, endpoint=False)
    r = 1 + 0.04 * np.sin(31 * t)
    return one(Polygon(np.column_stack((20 * r * np.cos(t), 9 * r * np.sin(t)))))


@pytest.mark.parametrize("d", [0.05, 1.0, 4.9])
def test_a_square_shrinks_on_all_sides(d):
    area = shrink_area(one(box(0, 0, 10, 10)), d)
    assert area.area == pytest.approx((10 - 2 * d) ** 2)
    assert area.bounds == pytest.approx((d, d, 10 - d, 10 - d))


@pytest.mark.parametrize("d", [0.05, 1.0, 5.0, 20.0])
@pytest.mark.parametrize("tolerance", [0.01, 0.001])
def test_a_square_grows_round_corners(d, tolerance):
    area = grow_area(one(box(0, 0, 10, 10)), d, tolerance=tolerance)
    wanted = 100 + 40 * d + math.pi * d * d
    assert wanted - 2 * math.pi * d * tolerance <= area.area <= wanted


def test_a_square_grows_sharp_corners_with_mitres():
    assert grow_area(one(box(0, 0, 10, 10)), 1, join="mitre").area == pytest.approx(144)


def test_a_hole_shrinks_as_the_area_grows():
    ring = one(box(0, 0, 10, 10) - box(4, 4, 6, 6))
    assert grow_area(ring, 0.5, join="mitre").area == pytest.approx(121 - 1)
    assert grow_area(ring, 1.01, join="mitre").area == pytest.approx(12.02**2)
    assert shrink_area(ring, 0.5).area == pytest.approx(81 - 9)


@pytest.mark.parametrize("d", [-0.05, 0.05, 0.4])
def test_each_point_of_the_outline_has_the_distance(d):
    area = leaf()
    moved = grow_area(area, d) if d > 0 else shrink_area(area, -d)
    outline = shapely.segmentize(moved.boundary, 0.02)
    gaps = shapely.distance(shapely.points(shapely.get_coordinates(outline)), area.boundary)
    assert np.abs(gaps - abs(d)).max() <= 0.002


def test_a_tip_retreats_by_the_distance_over_the_sine_of_half_its_angle():
    tip = one(Polygon([(0, -1), (40, 0), (0, 1)]))
    half = math.atan2(1, 40)
    assert shrink_area(tip, 0.1).bounds[2] == pytest.approx(40 - 0.1 / math.sin(half), abs=1e-6)


def test_a_long_mitre_is_cut_off():
    tip = one(Polygon([(0, -1), (40, 0), (0, 1)]))
    assert 40.1 <= grow_area(tip, 0.1, join="mitre").bounds[2] <= 40.5 + 1e-9
    assert grow_area(tip, 0.1).bounds[2] == pytest.approx(40.1, abs=0.001)


def test_areas_that_grow_into_one_another_become_one():
    pair = MultiPolygon([box(0, 0, 1, 1), box(1.5, 0, 2.5, 1)])
    assert len(grow_area(pair, 0.2).geoms) == 2
    assert len(grow_area(pair, 0.3).geoms) == 1
    assert grow_area(pair, 0.3, join="mitre").area == pytest.approx(3.1 * 1.6)


def test_what_is_narrower_than_twice_the_distance_goes():
    pair = MultiPolygon([box(0, 0, 0.1, 5), box(1, 0, 2, 5)])
    assert shrink_area(pair, 0.06).area == pytest.approx(0.88 * 4.88)
    assert shrink_area(pair, 0.6).equals(NOTHING)


def test_a_waist_that_closes_leaves_two_parts():
    dumbbell = box(0, 0, 4, 4) | box(4, 1.9, 6, 2.1) | box(6, 0, 10, 4)
    assert [part.area for part in shrink_area(one(dumbbell), 0.2).geoms] == pytest.approx(
        [3.6**2] * 2
    )


def test_nothing_and_no_distance():
    assert grow_area(NOTHING, 1).equals(NOTHING)
    assert shrink_area(NOTHING, 1).equals(NOTHING)
    square = one(box(0, 0, 1, 1))
    assert grow_area(square, 0) is square
    assert shrink_area(square, 0) is square


def test_discs_keep_their_tolerance_at_any_size():
    for radius in (0.1, 1.0, 5.0, 50.0):
        disc = grow_area(one(box(-1e-3, -1e-3, 1e-3, 1e-3)), radius)
        gaps = shapely.distance(
            shapely.points(shapely.get_coordinates(shapely.segmentize(disc.boundary, radius / 90))),
            Point(0, 0),
        )
        assert radius - 0.001 <= gaps.min()
        assert gaps.max() <= radius + 2e-3
