"""Shapes that are held as four numbers."""

from __future__ import annotations

import numpy as np
import pytest

from preprocess.read.paint.markers import path_vertices
from preprocess.read.shapes.compact_shapes import Oval, Rectangle


def test_an_oval_runs_clockwise_along_its_ellipse_and_comes_back():
    oval = Oval(10.0, -3.0, 4.0, 2.0)
    points = np.array(oval.numbers).reshape(-1, 2)
    assert oval.kinds == b"M" + b"C" * 16 + b"Z"
    assert len(points) == 1 + 3 * 16
    ends = points[::3]
    assert tuple(ends[0]) == (14.0, -3.0)
    assert ends[-1] == pytest.approx((14.0, -3.0), abs=1e-14)
    turn = np.arange(17) * np.pi / 8
    expected = np.stack((10 + 4 * np.cos(turn), -3 + 2 * np.sin(turn)), axis=1)
    assert ends == pytest.approx(expected, abs=1e-14)


def test_the_middles_of_its_curves_lie_on_the_ellipse():
    points = (np.array(Oval(0.0, 0.0, 1.0, 1.0).numbers)).reshape(-1, 2)
    for at in range(0, 48, 3):
        middle = points[at : at + 4].T @ np.array([1, 3, 3, 1]) / 8
        assert np.hypot(*middle) == pytest.approx(1, abs=1e-7)


def test_a_rectangle_has_its_corners_as_vertices():
    found = [(v.x, v.y) for v in path_vertices(Rectangle(1.0, 2.0, 4.0, 8.0))]
    assert found == [(1, 2), (4, 2), (4, 8), (1, 8), (1, 2)]
