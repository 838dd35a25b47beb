"""Rounding on reading and on writing."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import MultiPolygon, Polygon, box

from preprocess.geometry.base.normalise import NOTHING
from preprocess.geometry.base.rounding import (
    round_coordinates,
    snap_all_to_grid,
    snap_to_grid,
)


def on_decimals(area, decimals):
    coords = shapely.get_coordinates(area)
    return [float(f"{value:.{decimals}f}") for value in coords.ravel()] == coords.ravel().tolist()


def test_coordinates_are_rounded_to_a_nanometre():
    given = np.array([(0.1 + 0.2, 1.23456749), (-1e-9, 7.0)])
    assert round_coordinates(given).tolist() == [[0.3, 1.234567], [0.0, 7.0]]
    assert math.copysign(1, round_coordinates(given)[1, 0]) == 1


def test_a_sound_area_only_has_its_vertices_rounded():
    area = MultiPolygon([Polygon([(0.12345, 0), (9.87654, 0.00004), (5.55555, 7.00006)])])
    written = snap_to_grid(area, 4)
    wanted = {(0.1235, 0.0), (0.1234, 0.0), (9.8765, 0.0), (5.5556, 7.0001), (5.5555, 7.0001)}
    assert {tuple(p) for p in shapely.get_coordinates(written)} <= wanted
    assert len(written.geoms[0].exterior.coords) == 4


def test_points_that_become_one_are_written_once():
    ring = [(0, 0), (5, 0), (5.00001, 0.00001), (5, 5)]
    assert len(snap_to_grid(MultiPolygon([Polygon(ring)]), 4).geoms[0].exterior.coords) == 4


def test_a_notch_that_rounding_closes_stays_valid():
    notched = Polygon(
        [(0, 0), (10, 0), (10, 4.00004), (2, 4.00001), (10, 4.00006), (10, 9), (0, 9)]
    )
    assert notched.is_valid
    written = snap_to_grid(MultiPolygon([notched]), 4)
    assert written.is_valid
    assert written.area == pytest.approx(90, abs=1e-3)


def test_parts_that_rounding_makes_touch_become_one():
    area = MultiPolygon([box(0, 0, 1, 1), box(1.00003, 0.2, 2, 0.8)])
    written = snap_to_grid(area, 4)
    assert written.is_valid
    assert [part.area for part in written.geoms] == pytest.approx([1.6])


def test_what_is_smaller_than_the_grid_goes():
    area = MultiPolygon([box(0, 0, 0.00003, 5), box(1, 0, 2, 1)])
    assert snap_to_grid(area, 4).equals(MultiPolygon([box(1, 0, 2, 1)]))
    assert snap_to_grid(MultiPolygon([box(0, 0, 1e-5, 1e-5)]), 4).equals(NOTHING)
    assert snap_to_grid(NOTHING, 4).equals(NOTHING)


@given(st.integers(0, 2**32 - 1), st.sampled_from([1, 2, 4]))
def test_any_area_is_valid_on_the_grid_and_moves_little(seed, decimals):
    rng = np.random.default_rng(seed)
    blobs = [
        shapely.Point(*rng.uniform(0, 3, 2)).buffer(rng.uniform(0.05, 0.6), quad_segs=5)
        for _ in range(12)
    ]
    holed = shapely.union_all(blobs[:8]) - shapely.union_all(blobs[8:])
    area = MultiPolygon([part for part in shapely.get_parts(holed) if part.area])
    written = snap_to_grid(area, decimals)
    assert written.is_valid
    assert on_decimals(written, decimals)
    allowed = 10.0**-decimals * area.length
    assert shapely.symmetric_difference(area, written).area <= allowed
    assert snap_to_grid(written, decimals).equals(written)


AWKWARD = (
    NOTHING,
    MultiPolygon([box(0, 0, 0.00003, 5), box(1, 0, 2, 1)]),  # one part is below the grid
    MultiPolygon([box(3, 2, 4, 3), box(0.12345, 0, 1, 1), box(2, 0, 3, 1)]),
    MultiPolygon([box(0, 0, 1e-5, 1e-5)]),
    MultiPolygon([box(0, 0, 1, 1), box(1.00003, 0.2, 2, 0.8)]),  # two parts touch once rounded
    MultiPolygon([Polygon([(0, 0), (5, 0), (5.00001, 0.00001), (5, 5)])]),
    MultiPolygon([Polygon([(0, 0), (9, 0), (9, 4.00004), (2, 4.00001), (9, 4.00006), (0, 9)])]),
    MultiPolygon([box(0, 0, 9, 9) - box(1, 1, 2, 2)]),
    NOTHING,
)


@pytest.mark.parametrize("some", [AWKWARD, AWKWARD[:1], AWKWARD[2:3], AWKWARD[::-1], ()])
def test_many_areas_are_rounded_like_each_by_itself(some):
    alone = [snap_to_grid(area, 4).wkb for area in some]
    assert [area.wkb for area in snap_all_to_grid(some, 4)] == alone
