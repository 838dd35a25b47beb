"""Exact tiling."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiLineString, MultiPolygon, Point, box

from preprocess.geometry.overlay.partition import NODE_GRID, partition_area


def halves(points):
    return (points[:, 0] > 5).astype(int)


def test_a_cut_parts_a_square():
    found = partition_area(
        MultiPolygon([box(0, 0, 10, 10)]), MultiLineString([[(5, -1), (5, 11)]]), halves
    )
    assert found[0].equals(box(0, 0, 5, 10))
    assert found[1].equals(box(5, 0, 10, 10))


def test_a_cut_that_does_not_reach_through_parts_nothing():
    square = MultiPolygon([box(0, 0, 10, 10)])
    found = partition_area(
        square, MultiLineString([[(5, -1), (5, 9)]]), lambda p: np.zeros(len(p), int)
    )
    assert list(found) == [0]
    assert found[0].equals(square)


def test_holes_stay_holes_and_islands_in_them_are_parts():
    ring = box(0, 0, 10, 10).difference(box(2, 2, 8, 8))
    area = MultiPolygon([ring, box(4, 4, 6, 6)])
    found = partition_area(area, MultiLineString([[(5, -1), (5, 11)]]), halves)
    assert found[0].area == found[1].area == pytest.approx(34)
    assert shapely.union_all(list(found.values())).equals(area)
    assert len(found[0].geoms) == 2


def test_parts_that_no_cut_touches_keep_their_vertices():
    area = MultiPolygon([box(0, 0, 1, 1), Point(20, 20).buffer(3)])
    found = partition_area(area, MultiLineString([[(0.5, -1), (0.5, 2)]]), halves)
    assert found[1].equals_exact(MultiPolygon([area.geoms[1]]))


def test_nothing_gives_nothing():
    assert partition_area(MultiPolygon(), MultiLineString([[(0, 0), (1, 1)]]), halves) == {}


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

    found = partition_area(area, cuts, band)
    rounding = NODE_GRID * area.length + 1e-12
    assert sum(zone.area for zone in found.values()) == pytest.approx(area.area, abs=rounding)
    assert shapely.union_all(list(found.values())).symmetric_difference(area).area <= rounding
    assert shapely.coverage_is_valid(shapely.get_parts(list(found.values())))
    for index, zone in found.items():
        x, y = shapely.get_coordinates(zone).T
        at = y - slope * (x - 10)
        low = heights[index - 1] if index else -np.inf
        high = heights[index] if index < len(heights) else np.inf
        assert at.min() >= low - 1e-7
        assert at.max() <= high + 1e-7


def _star_and_cuts(seed):
    random = np.random.default_rng(seed)
    turn = np.sort(random.uniform(0, 2 * np.pi, 40))
    radius = random.uniform(0.3, 1, 40) * random.uniform(1, 60)
    points = random.uniform(0, 100, 2) + np.c_[radius * np.cos(turn), radius * np.sin(turn)]
    star = shapely.Polygon(np.round(points, 4))
    reach = random.uniform(0, star.boundary.length, (2, 12))
    one, two = (shapely.get_coordinates(star.boundary.interpolate(along)) for along in reach)
    beyond = 1e-4 * (two - one) / np.hypot(*(two - one).T)[:, None]
    cuts = np.stack((one - beyond, one, two, two + beyond), axis=1)
    return MultiPolygon([star]), MultiLineString(list(cuts))


def test_zones_stay_valid_when_they_are_moved():
    """Ends of cuts lie on outlines but for 1e-14 mm; moved, such nodes made zones cross themselves.

    The designs of a series failed for it. Of these 300 drawings 3 had such zones.
    """
    moved = 0
    for seed in range(300):
        area, cuts = _star_and_cuts(seed)
        if not area.is_valid:
            continue
        each = iter(range(1000))
        for zone in partition_area(area, cuts, lambda p, e=each: [next(e) for _ in p]).values():
            moved += 1
            assert shapely.transform(zone, lambda p: p - (0.09985, 33.1)).is_valid
    assert moved > 3000
