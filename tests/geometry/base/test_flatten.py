"""Flattened curves against the curves themselves, densely sampled by other means."""

from itertools import pairwise

import numpy as np
import pytest
import shapely

from preprocess.geometry.base.flatten import MAX_PIECES, flatten_cubics


def de_casteljau(curve, t):
    points = [np.outer(np.ones_like(t), p) for p in curve]
    while len(points) > 1:
        points = [(1 - t[:, None]) * a + t[:, None] * b for a, b in pairwise(points)]
    return points[0]


def polylines(curves, tolerance):
    points, counts = flatten_cubics(curves, tolerance)
    return np.split(points, np.cumsum(counts)[:-1]) if len(counts) else []


def worst(curve, line):
    dense = shapely.points(de_casteljau(curve, np.linspace(0, 1, 2001)))
    return shapely.distance(dense, shapely.LineString(line)).max()


@pytest.mark.parametrize("tolerance", [0.05, 0.005, 0.001])
def test_no_point_of_a_curve_is_farther_than_the_tolerance(tolerance):
    curves = np.random.default_rng(3).uniform(-20, 20, (60, 4, 2))
    lines = polylines(curves, tolerance)
    errors = [worst(curve, line) for curve, line in zip(curves, lines, strict=True)]
    assert max(errors) <= tolerance
    # and not a vertex more than the bound asks for: some curve comes close to it
    assert max(errors) > 0.6 * tolerance
    for curve, line in zip(curves, lines, strict=True):
        assert (line[0] == curve[0]).all()
        assert (line[-1] == curve[-1]).all()


HARD = {
    "cusp": [(0, 0), (10, 10), (0, 10), (10, 0)],
    "loop": [(0, 0), (30, 10), (-20, 10), (10, 0)],
    "there and back": [(0, 0), (30, 0), (-20, 0), (10, 0)],
    "handles in their ends": [(0, 0), (0, 0), (10, 5), (10, 5)],
    "closed": [(0, 0), (10, 10), (-10, 10), (0, 0)],
    "far from the origin": [(1e4, 1e4), (1e4 + 5, 1e4), (1e4 + 5, 1e4 + 5), (1e4, 1e4 + 5)],
}


@pytest.mark.parametrize("name", HARD)
def test_hard_cubics_keep_the_tolerance(name):
    curve = np.array(HARD[name], float)
    (line,) = polylines(curve[None], 0.005)
    assert worst(curve, line) <= 0.005 + 1e-12


def test_straight_and_empty_curves_are_single_pieces():
    thirds = np.array([[(0, 0), (1, 2), (2, 4), (3, 6)]], float)
    assert polylines(thirds, 0.005)[0].tolist() == [[0, 0], [3, 6]]
    assert polylines(np.zeros((1, 4, 2)), 0.005)[0].tolist() == [[0, 0], [0, 0]]
    assert polylines(np.empty((0, 4, 2)), 0.005) == []


def test_a_cubic_is_cut_where_the_bound_says():
    # both second differences are 8 √2 long, so 6 √2 / n² <= 0.02 first holds for n = 21
    (line,) = polylines(np.array([[(0, 0), (0, 8), (8, 8), (8, 0)]], float), 0.02)
    assert len(line) == 22


def test_a_curve_of_absurd_size_stays_within_memory():
    (line,) = polylines(np.array([[(0, 0), (1e15, 0), (0, 1e15), (1, 1)]]), 0.005)
    assert len(line) == MAX_PIECES + 1
