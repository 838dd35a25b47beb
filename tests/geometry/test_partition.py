"""Exact tiling."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiLineString, MultiPolygon, Point, box

from preprocess.geometry.partition import partition


def halves(points):
    return (points[:, 0] > 5).astype(int)


def test_a_cut_parts_a_square():
    found = partition(
        MultiPolygon([box(0, 0, 10, 10)]), MultiLineString([[(5, -1), (5, 11)]]), halves
    )
    assert found[0].equals(box(0, 0, 5, 10))
    assert found[1].equals(box(5, 0, 10, 10))


def test_a_cut_that_does_not_reach_through_parts_nothing():
    square = MultiPolygon([box(0, 0, 10, 10)])
    found = partition(square, MultiLineString([[(5, -1), (5, 9)]]), lambda p: np.zeros(len(p), int))
    assert list(found) == [0]
    assert found[0].equals(square)


def test_holes_stay_holes_and_islands_in_them_are_parts():
    ring = box(0, 0, 10, 10).difference(box(2, 2, 8, 8))
    area = MultiPolygon([ring, box(4, 4, 6, 6)])
    found = partition(area, MultiLineString([[(5, -1), (5, 11)]]), halves)
    assert found[0].area == found[1].area == pytest.approx(34)
    assert shapely.union_all(list(found.values())).equals(area)
    assert len(found[0].geoms) == 2


def test_parts_that_no_cut_touches_keep_their_vertices():
    area = MultiPolygon([box(0, 0, 1, 1), Point(20, 20).buffer(3)])
    found = partition(area, MultiLineString([[(0.5, -1), (0.5, 2)]]), halves)
    assert found[1].equals_exact(MultiPolygon([area.geoms[1]]))


def test_nothing_gives_nothing():
    assert partition(MultiPolygon(), MultiLineString([[(0, 0), (1, 1)]]), halves) == {}


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(st.floats(0, 20), st.floats(0, 20), st.floats(0.5, 6)), min_size=1, max_size=6
    ),
    st.lists(st.tuples(st.floats(-5, 25), st.floats(-5, 25)), min_size=2, max_size=6),
    st.floats(-1, 1),
)
def test_zones_tile_without_gap_or_overlap(discs, corners, slope):
    area = MultiPolygon(
        shapely.get_parts(
            shapely.union_all([Point(x, y).buffer(r, 6) for x, y, r in discs])
        ).tolist()
    )
    cuts = MultiLineString([[(-30, y - 40 * slope), (50, y + 40 * slope)] for _, y in corners])
    heights = np.sort([y for _, y in corners])

    def band(points):
        return np.searchsorted(heights, points[:, 1] - slope * (points[:, 0] - 10))

    found = partition(area, cuts, band)
    assert sum(zone.area for zone in found.values()) == pytest.approx(area.area, rel=1e-9)
    assert shapely.union_all(list(found.values())).symmetric_difference(area).area < 1e-9
    assert shapely.coverage_is_valid(shapely.get_parts(list(found.values())))
    for index, zone in found.items():
        x, y = shapely.get_coordinates(zone).T
        at = y - slope * (x - 10)
        low = heights[index - 1] if index else -np.inf
        high = heights[index] if index < len(heights) else np.inf
        assert at.min() >= low - 1e-7
        assert at.max() <= high + 1e-7
