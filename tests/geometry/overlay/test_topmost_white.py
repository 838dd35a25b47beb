"""White and black painted over one another: the last paint at a point decides."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon, box

from preprocess.geometry.overlay.topmost import topmost_white

SIDE = 8
CELL = st.integers(0, SIDE - 1)
SHEET = st.tuples(CELL, CELL, st.integers(1, SIDE), st.integers(1, SIDE), st.booleans())


@settings(max_examples=100, deadline=None)
@given(st.lists(SHEET, max_size=12))
def test_each_cell_has_its_last_paint(sheets):
    canvas = np.zeros((2 * SIDE, 2 * SIDE), bool)
    for x, y, wide, high, white in sheets:
        canvas[y : y + high, x : x + wide] = white
    areas = [MultiPolygon([box(x, y, x + w, y + h)]) for x, y, w, h, _ in sheets]

    found = topmost_white(areas, [sheet[4] for sheet in sheets])

    rows, columns = np.nonzero(canvas)
    expected = shapely.union_all(shapely.box(columns, rows, columns + 1, rows + 1))
    assert found.is_valid
    assert shapely.symmetric_difference(found, expected).area == pytest.approx(0, abs=1e-9)


def test_many_overlapping_sheets_are_joined():
    """Each of 1 100 sheets covers all but one mm of the one before: the last one shows."""
    areas = [MultiPolygon([box(i, 0, 2100, 10)]) for i in range(1100)]
    found = topmost_white(areas, [i % 2 == 0 for i in range(1100)])
    assert found.area == pytest.approx(550 * 10)
