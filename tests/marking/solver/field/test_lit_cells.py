"""Cells are weighed by what is lit of them: together they are the lit length of each row."""

import numpy as np
import pytest

from preprocess.marking.solver.field.lit_cells import lit_cells
from preprocess.marking.solver.row_images import ColumnGrid
from tests.marking.struck import exposure_of_runs

STEP = 0.1


def any_runs(seed, rows=40, width=12.0):
    """Some runs in each row, many of them slivers of 7 to 33 µm, none closer than a cell."""
    rng = np.random.default_rng(seed)
    found = []
    for row in range(rows):
        u = rng.uniform(0, 0.3)
        while u < width:
            length = rng.uniform(0.007, 0.033) if rng.random() < 0.5 else rng.uniform(0.05, 3)
            if u + length < width:
                found.append((row, u, u + length))
            u += length + rng.uniform(0.25, 1.0)
    return found


@pytest.mark.parametrize("seed", range(6))
def test_shares_of_each_row_make_up_its_lit_length(seed):
    runs = any_runs(seed)
    one = exposure_of_runs(runs)
    columns = ColumnGrid(-0.3, STEP, 130)
    found = lit_cells(one, columns)
    lit, share = found.lit, found.share
    assert (share[~lit] == 0).all()
    for number, row in enumerate(sorted({row for row, _, _ in runs})):
        wanted = sum(end - start for r, start, end in runs if r == row)
        assert share[number].sum() * STEP == pytest.approx(wanted, abs=1e-5)


def test_a_sliver_weighs_what_it_is():
    one = exposure_of_runs([(0, 1.03, 1.05), (1, 2.0, 4.0)])
    found = lit_cells(one, ColumnGrid(0.0, STEP, 60))
    lit, share = found.lit, found.share
    assert lit[0].sum() == 1
    assert share[0].sum() == pytest.approx(0.2)
    assert lit[1].sum() == 20
    assert share[1][lit[1]] == pytest.approx(np.ones(20))


def test_pieces_of_the_columns_weigh_the_same_as_all_at_once():
    one = exposure_of_runs(any_runs(9))
    whole = lit_cells(one, ColumnGrid(0.0, STEP, 120)).share
    pieces = [lit_cells(one, ColumnGrid(0.1 * first, STEP, 30)).share for first in (0, 30, 60, 90)]
    assert np.concatenate(pieces, axis=1) == pytest.approx(whole, abs=1e-6)


def test_a_short_run_on_the_border_of_two_pieces_is_lit_in_one_of_them():
    """The middle of the tip of a leaf lies on the edge of a column, but for rounding."""
    for border in range(1, 400):
        at = 0.1 * border
        one = exposure_of_runs([(0, at - 0.036, at + 0.036), (1, 0.0, 50.0)])
        pieces = (ColumnGrid(0.0, STEP, border), ColumnGrid(border * STEP, STEP, 500 - border))
        assert sum(lit_cells(one, piece).lit[0].sum() for piece in pieces) == 1


def test_runs_that_light_no_column_in_full_keep_their_own_middle():
    one = exposure_of_runs([(0, 1.03, 1.05), (0, 2.05, 2.19), (0, 3.0, 3.1), (1, 1.01, 4.0)])
    columns = ColumnGrid(0.0, STEP, 60)
    found = lit_cells(one, columns)
    assert found.short.row.tolist() == [0, 0]
    assert found.short.column.tolist() == [10, 21]
    assert found.short.middle == pytest.approx([1.04, 2.12])
    aside = found.aside(columns)
    assert aside[0, [10, 21, 30]] == pytest.approx([-0.01, -0.03, 0.0])
    assert (aside[1] == 0).all()
