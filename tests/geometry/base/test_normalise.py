"""Flattening of geometries into areas and lines, whatever they are wrapped in."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import GeometryCollection, LineString, MultiLineString, MultiPolygon, Point, box

from preprocess.geometry.base.normalise import as_area, as_lines

SQUARES = MultiPolygon([box(0, 0, 1, 1), box(2, 0, 3, 1)])
LINES = MultiLineString([[(0, 0), (1, 0)], [(2, 0), (4, 0)]])


@pytest.mark.parametrize("depth", range(4))
def test_a_collection_of_one_collection_loses_nothing(depth):
    area, lines = SQUARES, LINES
    for _ in range(depth):
        area, lines = GeometryCollection([area]), GeometryCollection([lines])
    assert as_area(area).area == 2
    assert as_lines(lines).length == 3
    assert as_area([area]).area == 2
    assert as_lines([lines]).length == 3


def test_a_mixture_gives_each_its_own():
    mixture = GeometryCollection([GeometryCollection([SQUARES, Point(9, 9)]), LINES])
    assert as_area(mixture).equals(SQUARES)
    assert as_lines(mixture).equals(LINES)


@pytest.mark.parametrize(
    "empty", [[], np.array([], dtype=object), GeometryCollection(), [LineString()], Point()]
)
def test_nothing_gives_nothing(empty):
    assert as_area(empty).is_empty
    assert as_lines(empty).is_empty
