"""The row frame against directions on the page, whose y runs down."""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapely import MultiPolygon, box

from preprocess.geometry.base.row_frame import RowFrame, change_angle


def test_u_runs_along_the_rows_and_v_across_them():
    # 30 degrees counter-clockwise as seen: right by √3/2 and up by 1/2, up being −y
    along, across = (math.sqrt(3) / 2, -0.5), (0.5, math.sqrt(3) / 2)
    assert RowFrame(30.0).to_uv(*along) == pytest.approx((1, 0), abs=1e-15)
    assert RowFrame(30.0).to_uv(*across) == pytest.approx((0, 1), abs=1e-15)


def test_places_come_back_to_the_page():
    x, y = np.array([1.0, -2.0]), np.array([[3.0], [0.5]])
    there = RowFrame(77.0).to_uv(x, y)
    for given, found in zip(np.broadcast_arrays(x, y), RowFrame(77.0).to_xy(*there), strict=True):
        assert found == pytest.approx(given)


def test_quarter_turns_are_exact_for_areas():
    area = MultiPolygon([box(1, 2, 4, 3)])
    assert RowFrame(0.0).to_rows(area) is area
    assert RowFrame(90.0).to_rows(area).bounds == (-3, 1, -2, 4)
    assert RowFrame(90.0).to_page(RowFrame(90.0).to_rows(area)).equals(area)


def test_a_place_of_one_frame_in_another():
    u, v = change_angle(1.0, 0.0, 10.0, 100.0)
    x, y = RowFrame(100.0).to_xy(u, v)
    assert RowFrame(10.0).to_uv(x, y) == pytest.approx((1, 0), abs=1e-15)
