"""Openings, residue and tips against closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon, box

from preprocess.geometry.offset.opening import open_area, opening_residue
from preprocess.geometry.offset.width_zones import width_range, zones_by_local_width
from preprocess.geometry.overlay.partition import NODE_GRID
from tests.geometry.drawn_areas import AREAS, wedge


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
    (piece,) = opening_residue(MultiPolygon([wedge(half_angle)]), 2 * r).pieces
    wanted = r * r * (1 / math.tan(a) + a - math.pi / 2)
    # the disc is regrown 1.7 µm too far on purpose, along some 2 mm
    assert piece.area == pytest.approx(wanted, abs=5e-3)


def test_corners_are_no_narrow_places():
    star = shapely.union_all([box(0, 0, 4, 4), shapely.affinity.rotate(box(0, 0, 4, 4), 45)])
    assert len(opening_residue(MultiPolygon([star]), 0.5).pieces) == 0
    assert len(opening_residue(MultiPolygon([wedge(44)]), 0.5).pieces) == 0


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
