"""Clips of upright rectangles, which tiles of patterns are."""

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import MultiPolygon, Polygon, box

from preprocess.geometry.overlay.booleans import intersection
from preprocess.read.shapes import regions
from preprocess.read.shapes.regions import intersect_clip

tenths = st.integers(0, 100).map(lambda number: number / 10)
sides = st.integers(1, 80).map(lambda number: number / 10)


def area(left, top, right, bottom, *, turned=False):
    corners = [(left, top), (right, top), (right, bottom), (left, bottom)]
    return MultiPolygon([Polygon(corners[::-1] if turned else corners)])


@given(tenths, tenths, sides, sides, tenths, tenths, sides, sides, st.booleans())
def test_two_upright_rectangles_share_the_rectangle_between_their_inner_sides(
    x, y, width, height, u, v, wide, high, turned
):
    one = area(x, y, x + width, y + height)
    other = area(u, v, u + wide, v + high, turned=turned)
    found = intersect_clip(one, other)
    left, right = max(x, u), min(x + width, u + wide)
    top, bottom = max(y, v), min(y + height, v + high)
    if right - left < 1e-9 or bottom - top < 1e-9:
        assert found.area < 1e-8
    else:
        assert found.bounds == (left, top, right, bottom)
        assert found.area == pytest.approx((right - left) * (bottom - top))
    wanted = intersection(one, other)
    assert shapely.equals(found, wanted)


def test_sides_that_nearly_agree_are_left_to_the_exact_intersection(monkeypatch):
    asked = []
    monkeypatch.setattr(regions, "intersection", lambda *two: asked.append(two) or two[0])
    intersect_clip(area(0, 0, 4, 4), area(2, 4 - 1e-6, 6, 8))
    assert len(asked) == 1
    intersect_clip(area(0, 0, 4, 4), area(2, 3, 6, 8))
    assert len(asked) == 1


@pytest.mark.parametrize(
    "other",
    [
        Polygon([(2, 2), (6, 3), (6, 6), (2, 6)]),
        Polygon([(2, 2), (6, 2), (2, 6)]),
        box(2, 2, 6, 6).difference(box(3, 3, 5, 5)),
        Polygon([(1, 4), (4, 7), (7, 4), (4, 1)]),
    ],
)
def test_what_is_no_upright_rectangle_is_cut_as_it_is(other):
    clip = area(0, 0, 4, 4)
    found = intersect_clip(clip, MultiPolygon([other]))
    assert np.isclose(found.area, shapely.intersection(box(0, 0, 4, 4), other).area)
