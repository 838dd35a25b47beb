"""Lines and areas that lie on one another."""

from itertools import pairwise, permutations

import numpy as np
import pytest
from shapely import MultiLineString, MultiPolygon, Polygon, box

from preprocess.geometry.lines.duplicates import first_duplicates

STEM = [(0, 0), (5, 1), (9, 3)]
RING = [(0, 0), (10, 0), (10, 10), (0, 10), (0, 0)]
FROM_ELSEWHERE = [*RING[2:], *RING[1:3]]


def lines(*coords):
    return MultiLineString([list(map(tuple, line)) for line in coords])


def kept(*sets, tolerance=0.001):
    """How many lines of each set lie on no earlier one, of the same set or of one before."""
    parts = [line for lines in sets for line in lines.geoms]
    first = first_duplicates(parts, tolerance) == np.arange(len(parts))
    ends = np.cumsum([len(lines.geoms) for lines in sets])[:-1]
    return [int(alone.sum()) for alone in np.split(first, ends)]


def equal_areas(areas, tolerance):
    return first_duplicates(areas, tolerance).tolist()


@pytest.mark.parametrize(
    ("first", "second"),
    [
        (STEM, STEM),
        (STEM, STEM[::-1]),
        (RING, RING[::-1]),
        (RING, FROM_ELSEWHERE),
        (RING, FROM_ELSEWHERE[::-1]),
        (STEM, [(0, 0), (2.5, 0.5), (5, 1), (9, 3)]),
        (STEM, [(0, 0.0005), (5, 1.0005), (9, 3)]),
        (RING, [(0, 4), *RING[3::-1], (0, 4)]),
    ],
    ids=[
        "same",
        "reversed",
        "ring reversed",
        "other start",
        "other start, reversed",
        "one vertex more",
        "within tolerance",
        "starts within an edge",
    ],
)
def test_a_line_on_another_is_a_repeat(first, second):
    assert kept(lines(first), lines(second)) == [1, 0]
    assert kept(lines(second, first)) == [1]


@pytest.mark.parametrize(
    ("first", "second"),
    [
        (STEM, STEM[:2]),
        (STEM, [(0, 0.002), (5, 1), (9, 3)]),
        (STEM, [(0, 0), (5, 1), (0, 0), (5, 1), (9, 3)]),
        (RING, RING[:4]),
        ([(0, 0), (10, 10)], [(0, 10), (10, 0)]),
        ([(0, 0), (10, 10)], [(0, 0), (10, 0), (10, 10)]),
        ([(0, 0), (10, 0), (10, 10)], [(0, 0), (10, 10), (10, 200**0.5 - 10)]),
        ([(0, 0), (10, 10), (10, 200**0.5 - 10)], [(0, 0), (10, 0), (10, 10)]),
    ],
    ids=[
        "part",
        "beyond tolerance",
        "back and forth",
        "open ring",
        "other diagonal",
        "detour",
        "cut corner",
        "corner",
    ],
)
def test_other_lines_are_not(first, second):
    assert kept(lines(first), lines(second)) == [1, 1]


@pytest.mark.parametrize("closed", [False, True])
@pytest.mark.parametrize("tolerance", [0.0, 0.001])
def test_tours_of_the_same_corners_differ_by_their_edges(closed, tolerance):
    """Z and S have corners, box and length in common; only what they join tells them apart."""
    corners = [(0, 0), (4, 0), (4, 4), (0, 4), (2, 1)]
    tours = [[*tour, tour[0]] if closed else tour for tour in permutations(corners)]
    edges = [frozenset(frozenset(edge) for edge in pairwise(tour)) for tour in tours]
    first = [edges.index(mine) for mine in edges]
    assert first_duplicates([lines(tour) for tour in tours], tolerance).tolist() == first


def test_areas_on_the_same_corners_need_not_be_equal():
    above = Polygon([(0, 0), (4, 0), (4, 4), (2, 2), (0, 4)])
    below = Polygon([(0, 0), (2, 2), (4, 0), (4, 4), (0, 4)])
    assert above.length == below.length
    assert equal_areas([MultiPolygon([above]), MultiPolygon([below])], 0.001) == [0, 1]


def test_the_first_of_many_stays():
    sets = [lines(STEM, RING), lines(RING[::-1], [(20, 0), (30, 0)]), lines(STEM[::-1])]
    assert kept(*sets) == [2, 1, 0]


def test_nothing_repeats_nothing():
    assert equal_areas([], 0.001) == []


def test_a_thousand_copies_leave_one():
    rng = np.random.default_rng(1)
    sets = [lines(np.array(STEM) + rng.uniform(-2e-4, 2e-4, (3, 2))) for _ in range(200)]
    sets += [lines(STEM)] * 800
    assert sum(kept(*sets)) == 1


def test_every_repeat_lies_on_one_that_stays():
    # each is within reach of the next, but the third is not within reach of the first
    steps = [lines([(0, k * 0.0008), (10, k * 0.0008)]) for k in range(4)]
    assert kept(*steps) == [1, 0, 1, 0]


def test_areas_with_the_same_outlines_are_equal():
    wing = Polygon(RING, [[(2, 2), (4, 2), (4, 4)]])
    areas = [
        MultiPolygon([wing]),
        MultiPolygon([box(0, 0, 10, 10)]),
        MultiPolygon([Polygon(FROM_ELSEWHERE[::-1], [[(4, 4), (2, 2), (4, 2)]])]),
        MultiPolygon([box(0, 0, 10, 10.0005)]),
        MultiPolygon([box(0, 0, 10, 10), box(20, 0, 21, 1)]),
        MultiPolygon([box(20, 0, 21, 1), box(0, 0, 10, 10)]),
    ]
    assert equal_areas(areas, 0.001) == [0, 1, 0, 1, 4, 4]
    assert first_duplicates(areas, 1e-6).tolist() == [0, 1, 0, 3, 4, 4]
