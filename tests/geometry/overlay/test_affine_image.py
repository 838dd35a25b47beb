"""Affine maps one after another, and areas under them."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely import MultiPolygon, box

from preprocess.geometry.base.affine import about_point, compose, rotation, scaling, translation
from preprocess.geometry.overlay.affine_image import apply_affine


def area(*parts):
    return MultiPolygon(list(parts))


def test_maps_follow_one_another():
    points = np.array([(1.0, 2.0), (3.0, 0.0), (2.0, 5.0)])
    one, two = rotation(30.0, mirrored=True), scaling(2.0, 0.5)
    triangle = area(shapely.Polygon(points))
    at_once = apply_affine(triangle, compose(two, one))
    in_turn = apply_affine(apply_affine(triangle, one), two)
    assert at_once.hausdorff_distance(in_turn) < 1e-12
    assert compose(translation(1, 2), translation(-1, -2)) == (1, 0, 0, 1, 0, 0)


def test_turning_is_counter_clockwise_as_seen_where_y_runs_down():
    a, b, c, d, e, f = about_point(rotation(90.0), (5.0, 5.0))
    x, y = 7.0, 5.0  # to the right of the middle
    assert (a * x + c * y + e, b * x + d * y + f) == (5.0, 3.0)  # is above it afterwards


def test_rings_that_touch_stay_valid_at_any_angle():
    """Two squares that meet in a point, and a hole that touches its shell in one."""
    corner = area(box(0.1, 0.1, 1.3, 1.3), box(1.3, 1.3, 2.6, 2.6))
    pinched = area(shapely.Polygon([(0, 0), (9, 0), (9, 9), (0, 9)], [[(0, 4.1), (3, 2), (3, 6)]]))
    for shape in (corner, pinched):
        for angle in np.linspace(0.3, 179.3, 400):
            result = apply_affine(shape, about_point(rotation(float(angle)), (1.7, 0.3)))
            assert result.is_valid
            assert result.area == pytest.approx(shape.area, rel=1e-9)
