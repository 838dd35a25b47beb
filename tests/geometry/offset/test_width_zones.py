"""Zones by width against the definition: the largest disc in the area that contains the point."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial import KDTree
from shapely import MultiPolygon, Point, Polygon, box
from shapely.affinity import rotate, translate

from preprocess.geometry.offset.width_zones import zones_by_local_width
from preprocess.geometry.overlay.partition import NODE_GRID

GRID = 0.09


def star(points, outer, inner):
    angle = np.arange(2 * points) * math.pi / points
    radius = np.where(np.arange(2 * points) % 2 == 0, outer, inner)
    return Polygon(np.column_stack((radius * np.sin(angle), radius * np.cos(angle))))


SHAPES = {
    "acute tip": Polygon([(0, -2), (0, 2), (10, 0)]),
    "star": star(5, 6, 2.4),
    "crescent": Point(0, 0).buffer(5, quad_segs=32) - Point(1.5, 0).buffer(4.2, quad_segs=32),
    "serifs": shapely.union_all([box(0, 0, 2, 7), box(-1.5, 0, 3.5, 0.6)]),
    "taper": Polygon([(0, -1.5), (14, -0.2), (14, 0.2), (0, 1.5)]),
    "waist": shapely.union_all([box(0, 0, 4, 4), box(4, 1.7, 8, 2.3), box(8, 0, 12, 4)]),
}
"""One for each kind of narrow place."""


def widths_of(area):
    """Points of a grid in the area, and their local widths by trying discs about all of them.

    A disc about a grid point is too small by up to the way to the next one: 0.7 × the grid.
    """
    left, top, right, bottom = area.bounds
    x, y = np.meshgrid(np.arange(left, right, GRID), np.arange(top, bottom, GRID))
    points = np.column_stack((x.ravel(), y.ravel()))
    points = points[shapely.contains_xy(area, *points.T)]
    radius = shapely.distance(shapely.points(points), area.boundary)
    widest = np.zeros(len(points))
    for near, r in zip(KDTree(points).query_ball_point(points, radius), radius, strict=True):
        widest[near] = np.maximum(widest[near], r)
    return points, 2 * widest


@pytest.mark.parametrize("limit", [0.9, 1.4])
@pytest.mark.parametrize("name", SHAPES)
def test_each_point_is_in_the_zone_of_its_width(name, limit):
    area = SHAPES[name]
    zones = zones_by_local_width(
        MultiPolygon([area]), np.array([limit]), least_height=0.3, angle=0.0
    )
    points, width = widths_of(area)
    spots = shapely.points(points)
    slack = 2 * 0.75 * GRID
    wide, thin = width >= limit + 0.02, width < limit - slack
    assert shapely.covers(zones[1], spots[wide]).all()
    in_corners = ~shapely.intersects(zones[2], spots[thin])
    # blunt corners count as wide: a disc leaves r² (1 − π/4) of a square one, and GRID² is a point
    count = 8 if name == "waist" else 4
    corners = count * (limit / 2) ** 2 * (1 - math.pi / 4)
    assert in_corners.sum() * GRID**2 <= corners * 1.1


def test_a_short_waist_is_as_wide_as_the_discs_that_meet_in_it():
    """Slopes of 45 degrees down to 0.4 mm: discs of 1 mm from both sides reach 0.09 mm past it."""
    half = [(0, 0), (4, 0), (6, 1.8), (8, 0), (12, 0)]
    area = Polygon([*half, *((x, 4 - y) for x, y in half[::-1])])
    zones = zones_by_local_width(MultiPolygon([area]), np.array([1.0]), least_height=0.3, angle=0.0)
    assert list(zones) == [1]


@pytest.mark.parametrize("name", SHAPES)
def test_zones_hold_no_crumbs_and_one_piece_for_each_narrow_place(name):
    narrow = {"acute tip": 1, "star": 5, "crescent": 2, "serifs": 2, "taper": 1, "waist": 1}
    area = MultiPolygon([SHAPES[name]])
    zones = zones_by_local_width(area, np.array([1.0]), least_height=0.3, angle=0.0)
    assert len(zones[2].geoms) == narrow[name]
    assert all(part.area > 0.1 for zone in zones.values() for part in zone.geoms)
    assert zones[1].area + zones[2].area == pytest.approx(area.area, abs=NODE_GRID * area.length)


@pytest.mark.parametrize("name", SHAPES)
def test_a_little_more_width_moves_the_border_a_little(name):
    """No piece flips: what one threshold calls narrow and the next does not is a thin seam."""
    area = MultiPolygon([SHAPES[name]])
    before = None
    for limit in np.arange(1.0, 1.1, 0.02):
        narrow = zones_by_local_width(area, np.array([limit]), least_height=0.3, angle=0.0)[2]
        if before is not None:
            assert before.difference(narrow).area < 0.03 * len(narrow.geoms)
            assert narrow.area - before.area < 0.25 * len(narrow.geoms)
        before = narrow


@settings(max_examples=8, deadline=None)
@given(st.sampled_from(sorted(SHAPES)), st.floats(-180, 180), st.floats(-40, 40))
def test_turning_and_moving_commute(name, angle, dx):
    move = lambda g: translate(rotate(g, -angle, origin=(0, 0)), dx, 3)
    area = MultiPolygon([SHAPES[name]])
    here = zones_by_local_width(area, np.array([1.0]), least_height=0.3, angle=0.0)
    there = zones_by_local_width(
        MultiPolygon([move(SHAPES[name])]), np.array([1.0]), least_height=0.3, angle=angle
    )
    for level in (1, 2):
        assert move(here[level]).symmetric_difference(there[level]).area < 0.06
