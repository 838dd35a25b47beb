"""Connected areas, against labels of pixels and against hand counts."""

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from scipy import ndimage
from shapely import MultiPolygon, Point, box

from preprocess.geometry.base.normalise import NOTHING
from preprocess.geometry.overlay.arrangement import fill_contours
from preprocess.geometry.overlay.booleans import union
from preprocess.geometry.overlay.components import components, groups_within


def square(middle, size):
    return box(middle - size / 2, middle - size / 2, middle + size / 2, middle + size / 2)


def test_islands_within_holes_are_parts_of_their_own():
    rings = [shapely.get_coordinates(square(10, 20 - 2 * k))[:-1] for k in range(7)]
    parts = components(fill_contours(rings, "evenodd"))
    assert [len(part.interiors) for part in parts] == [1, 1, 1, 0]
    assert [part.area for part in parts] == [400 - 324, 256 - 196, 144 - 100, 64]


def test_parts_come_top_to_bottom_then_left_to_right():
    boxes = [box(x, y, x + 1, y + 1) for x, y in ((4, 0), (0, 2), (0, 0), (2, 0), (2, 2))]
    found = [part.bounds[:2] for part in components(MultiPolygon(boxes))]
    assert found == [(0, 0), (2, 0), (4, 0), (0, 2), (2, 2)]


def test_parts_that_touch_in_a_point_are_separate():
    assert len(components(union([box(0, 0, 1, 1), box(1, 1, 2, 2)]))) == 2


def test_nothing_has_no_parts():
    assert components(NOTHING) == ()
    assert groups_within([], 1.0) == []


@given(st.integers(0, 2**32 - 1))
def test_as_many_parts_as_groups_of_pixels(seed):
    lit = np.random.default_rng(seed).random((9, 9)) < 0.5
    cells = [box(x, y, x + 1, y + 1) for y, x in zip(*np.nonzero(lit), strict=True)]
    labels, count = ndimage.label(lit)
    parts = components(union(cells))
    assert len(parts) == count
    sizes = sorted(np.bincount(labels.ravel())[1:].tolist())
    assert sorted(part.area for part in parts) == sizes


def test_groups_are_chains_of_neighbours():
    discs = [Point(x, 0).buffer(0.5) for x in (0, 1.2, 9, 2.4, 10.5)]
    assert groups_within(discs, 0.1) == [[0], [1], [2], [3], [4]]
    assert groups_within(discs, 0.25) == [[0, 1, 3], [2], [4]]
    assert groups_within(discs, 0.6) == [[0, 1, 3], [2, 4]]
    assert groups_within(discs, 10) == [[0, 1, 2, 3, 4]]


@pytest.mark.parametrize("gap", [0.05, 0.1, 0.2])
def test_groups_agree_with_growing_and_uniting(gap):
    rng = np.random.default_rng(5)
    boxes = [box(x, y, x + 0.3, y + 0.3) for x, y in rng.uniform(0, 8, (150, 2)).round(3)]
    grown = shapely.union_all([b.buffer(gap / 2, quad_segs=64) for b in boxes])
    assert len(groups_within(boxes, gap)) == len(shapely.get_parts(grown))
    assert sorted(i for group in groups_within(boxes, gap) for i in group) == list(range(150))
