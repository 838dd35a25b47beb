"""The best conceivable by powers of rows, on small fields worked out by hand."""

from __future__ import annotations

import pytest

from preprocess.marking.evenness.row_bound import row_bound
from tests.marking.evenness.test_objective import field, heat, image


def test_rows_that_are_even_in_themselves_can_be_made_alike():
    index = field()
    index[10:20] = 1.4
    index[30:34] = 0.7
    found = row_bound(heat(image(index)))
    assert (found.hot, found.cold, found.beyond, found.seam) == pytest.approx((1, 1, 0, 0))


def test_what_is_uneven_along_a_row_stays():
    index = field(columns=50)
    index[10:15, :5] = 1.5  # a tenth of five rows: their mean is 1.05
    found = row_bound(heat(image(index)))
    assert found.hot == pytest.approx(1.5 / 1.05)  # 25 cells: the whole place
    assert found.cold == pytest.approx(1 / 1.05)


def test_nothing_lit_has_no_bound():
    assert row_bound(heat()) is None
