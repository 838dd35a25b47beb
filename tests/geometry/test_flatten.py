"""Flattened curves against the curves themselves, densely sampled by other means."""

import math
from itertools import pairwise

import numpy as np
import pytest
import shapely
from svgelements import Arc, Point

from preprocess.geometry.arcs import flatten_arcs
from preprocess.geometry.flatten import MOST_PIECES, flatten_cubics, flatten_quadratics


def de_casteljau(curve, t):
    points = [np.outer(np.ones_like(t), p) for p in curve]
    while len(points) > 1:
        points = [(1 - t[:, None]) * a + t[:, None] * b for a, b in pairwise(points)]
    return points[0]


def worst(curve, line):
    dense = shapely.points(de_casteljau(curve, np.linspace(0, 1, 2001)))
    return shapely.distance(dense, shapely.LineString(line)).max()


@pytest.mark.parametrize(("degree", "flatten"), [(2, flatten_quadratics), (3, flatten_cubics)])
@pytest.mark.parametrize("tolerance", [0.05, 0.005, 0.001])
def test_no_point_of_a_curve_is_farther_than_the_tolerance(degree, flatten, tolerance):
    curves = np.random.default_rng(degree).uniform(-20, 20, (60, degree + 1, 2))
    lines = flatten(curves, tolerance)
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
    (line,) = flatten_cubics(curve[None], 0.005)
    assert worst(curve, line) <= 0.005 + 1e-12


def test_straight_and_empty_curves_are_single_pieces():
    thirds = np.array([[(0, 0), (1, 2), (2, 4), (3, 6)]], float)
    assert flatten_cubics(thirds, 0.005)[0].tolist() == [[0, 0], [3, 6]]
    assert flatten_cubics(np.zeros((1, 4, 2)), 0.005)[0].tolist() == [[0, 0], [0, 0]]
    assert flatten_quadratics(np.array([[(0, 0), (1, 1), (2, 2)]]), 0.1)[0].tolist() == [
        [0, 0],
        [2, 2],
    ]
    for flatten, size in ((flatten_cubics, (0, 4, 2)), (flatten_quadratics, (0, 3, 2))):
        assert flatten(np.empty(size), 0.005) == []
    assert flatten_arcs(np.empty((0, 9)), 0.005) == []


def test_a_quadratic_is_cut_where_the_bound_says():
    # second difference 8, so 8 / (4 n²) <= 0.02 first holds for n = 10
    (line,) = flatten_quadratics(np.array([[(0, 0), (4, 4), (8, 0)]], float), 0.02)
    assert len(line) == 11


def test_a_curve_of_absurd_size_stays_within_memory():
    (line,) = flatten_cubics(np.array([[(0, 0), (1e15, 0), (0, 1e15), (1, 1)]]), 0.005)
    assert len(line) == MOST_PIECES + 1


def on_ellipse(points, centre, radii, degrees):
    turn = math.radians(degrees)
    away = np.asarray(points) - centre
    u = (away @ (math.cos(turn), math.sin(turn))) / radii[0]
    v = (away @ (-math.sin(turn), math.cos(turn))) / radii[1]
    return np.hypot(u, v)


@pytest.mark.parametrize("tolerance", [0.01, 0.001])
@pytest.mark.parametrize("flags", [(0, 0), (0, 1), (1, 0), (1, 1)])
@pytest.mark.parametrize("degrees", [0, 30, -75, 400])
def test_arcs_agree_with_another_implementation(flags, degrees, tolerance):
    arc = (1, 2, 8, 3, degrees, *flags, 6, 5)
    (line,) = flatten_arcs(np.array([arc], float), tolerance)
    other = Arc(Point(1, 2), 8, 3, degrees, *flags, Point(6, 5))
    dense = [other.point(t) for t in np.linspace(0, 1, 2001)]
    dense = np.array([(p.x, p.y) for p in dense])
    track = shapely.LineString(line)
    assert shapely.distance(shapely.points(dense), track).max() <= tolerance + 1e-6
    assert track.hausdorff_distance(shapely.LineString(dense)) <= tolerance + 1e-4
    assert (tuple(line[0]), tuple(line[-1])) == ((1, 2), (6, 5))


def test_the_four_arcs_between_two_points_lie_on_the_two_circles():
    arcs = np.array(
        [(0, 0, 5, 5, 0, large, sweep, 8, 0) for large in (0, 1) for sweep in (0, 1)], float
    )
    # y runs down: a positive sweep turns clockwise to the eye, over the top from left to right
    middles = [(4, -3), (4, 3), (4, 3), (4, -3)]
    tops = [(0, 2), (-2, 0), (0, 8), (-8, 0)]
    for line, middle, (low, high) in zip(flatten_arcs(arcs, 1e-4), middles, tops, strict=True):
        assert on_ellipse(line, middle, (5, 5), 0) == pytest.approx(1, abs=1e-12)
        assert line[:, 1].min() == pytest.approx(low, abs=2e-4)
        assert line[:, 1].max() == pytest.approx(high, abs=2e-4)


def test_a_half_circle_has_the_length_of_one():
    (line,) = flatten_arcs(np.array([(0, 0, 10, 10, 0, 0, 1, 20, 0)], float), 1e-4)
    assert shapely.LineString(line).length == pytest.approx(10 * math.pi, abs=1e-2)
    assert on_ellipse(line, (10, 0), (10, 10), 0) == pytest.approx(1, abs=1e-12)


def test_radii_that_are_too_small_grow_until_the_ends_fit():
    (line,) = flatten_arcs(np.array([(0, 0, 1, 2, 0, 0, 1, 10, 0)], float), 1e-3)
    assert on_ellipse(line, (5, 0), (5, 10), 0) == pytest.approx(1, abs=1e-9)
    assert line[:, 1].min() == pytest.approx(-10, abs=2e-3)


def test_the_sign_of_radii_does_not_matter():
    arcs = np.array([(0, 0, 5, 3, 20, 0, 1, 4, 4), (0, 0, -5, -3, 20, 0, 1, 4, 4)], float)
    one, two = flatten_arcs(arcs, 0.01)
    assert (one == two).all()


@pytest.mark.parametrize(
    "arc",
    [(0, 0, 0, 5, 0, 0, 1, 4, 4), (0, 0, 5, 0, 0, 1, 1, 4, 4)],
    ids=["no rx", "no ry"],
)
def test_an_arc_without_radius_is_a_line(arc):
    assert flatten_arcs(np.array([arc], float), 0.01)[0].tolist() == [[0, 0], [4, 4]]


def test_an_arc_from_a_point_to_itself_goes_nowhere():
    (line,) = flatten_arcs(np.array([(3, 3, 5, 5, 0, 1, 1, 3, 3)], float), 0.01)
    assert line.tolist() == [[3, 3], [3, 3]]


def test_chords_per_turn_follow_from_the_sagitta():
    # two half circles of r = 10: pi / acos(1 - 0.005 / 10) = 99.3 chords per turn
    arcs = np.array([(-10, 0, 10, 10, 0, 0, 1, 10, 0), (10, 0, 10, 10, 0, 0, 1, -10, 0)], float)
    assert sum(len(line) - 1 for line in flatten_arcs(arcs, 0.005)) == 100
