"""Arcs and quadratic curves of path data, against closed forms and another implementation."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from svgelements import Arc, Point

from preprocess.read.shapes.flatten import FlattenJob, flatten_paths
from preprocess.read.shapes.path_data import parse_path_data
from preprocess.read.xml.affine import IDENTITY

ROUNDED = 1e-6
"""mm, to which points are rounded."""


def drawn(text, tolerance):
    path, wrong = parse_path_data(text)
    assert wrong is None
    (contour,) = flatten_paths([FlattenJob(path, IDENTITY)], tolerance)[0]
    return contour.points


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
    line = drawn(f"M1 2A8 3 {degrees} {flags[0]} {flags[1]} 6 5", tolerance)
    other = Arc(Point(1, 2), 8, 3, degrees, *flags, Point(6, 5))
    dense = [other.point(t) for t in np.linspace(0, 1, 2001)]
    dense = np.array([(p.x, p.y) for p in dense])
    track = shapely.LineString(line)
    assert shapely.distance(shapely.points(dense), track).max() <= tolerance + 2e-6
    assert track.hausdorff_distance(shapely.LineString(dense)) <= tolerance + 1e-4
    assert (tuple(line[0]), tuple(line[-1])) == ((1, 2), (6, 5))


@pytest.mark.parametrize(
    ("flags", "middle", "lowest", "highest"),
    [
        ("0 0", (4, -3), 0, 2),
        ("0 1", (4, 3), -2, 0),
        ("1 0", (4, 3), 0, 8),
        ("1 1", (4, -3), -8, 0),
    ],
)
def test_the_four_arcs_between_two_points_lie_on_the_two_circles(flags, middle, lowest, highest):
    # y runs down: a positive sweep turns clockwise to the eye, over the top from left to right
    line = drawn(f"M0 0A5 5 0 {flags} 8 0", 1e-4)
    assert on_ellipse(line, middle, (5, 5), 0) == pytest.approx(1, abs=ROUNDED)
    assert line[:, 1].min() == pytest.approx(lowest, abs=2e-4)
    assert line[:, 1].max() == pytest.approx(highest, abs=2e-4)


def test_a_half_circle_has_the_length_of_one():
    line = drawn("M0 0A10 10 0 0 1 20 0", 1e-4)
    assert shapely.LineString(line).length == pytest.approx(10 * math.pi, abs=1e-2)
    assert on_ellipse(line, (10, 0), (10, 10), 0) == pytest.approx(1, abs=ROUNDED)


def test_radii_that_are_too_small_grow_until_the_ends_fit():
    line = drawn("M0 0A1 2 0 0 1 10 0", 1e-3)
    assert on_ellipse(line, (5, 0), (5, 10), 0) == pytest.approx(1, abs=ROUNDED)
    assert line[:, 1].min() == pytest.approx(-10, abs=2e-3)


def test_the_sign_of_radii_does_not_matter():
    one, two = (drawn(f"M0 0A{radii} 20 0 1 4 4", 0.01) for radii in ("5 3", "-5 -3"))
    assert (one == two).all()


@pytest.mark.parametrize("radii", ["0 5", "5 0"])
def test_an_arc_without_radius_is_a_line(radii):
    assert drawn(f"M0 0A{radii} 0 0 1 4 4", 0.01).tolist() == [[0, 0], [4, 4]]


def test_an_arc_from_a_point_to_itself_goes_nowhere():
    path, wrong = parse_path_data("M3 3A5 5 0 1 1 3 3")
    assert wrong is None
    assert path.kinds == b"M"


def test_a_quadratic_is_cut_where_the_bound_says():
    # its second difference is 8, so 8 / (4 n²) <= 0.02 first holds for n = 10
    assert len(drawn("M0 0Q4 4 8 0", 0.02)) == 11


@pytest.mark.parametrize("tolerance", [0.05, 0.005])
def test_no_point_of_a_quadratic_is_farther_than_the_tolerance(tolerance):
    t = np.linspace(0, 1, 2001)[:, None]
    for ax, ay, bx, by, cx, cy in np.random.default_rng(2).uniform(-20, 20, (40, 6)).round(3):
        line = drawn(f"M{ax} {ay}Q{bx} {by} {cx} {cy}", tolerance)
        curve = (1 - t) ** 2 * (ax, ay) + 2 * t * (1 - t) * (bx, by) + t**2 * (cx, cy)
        away = shapely.distance(shapely.points(curve), shapely.LineString(line))
        assert away.max() <= tolerance + ROUNDED
