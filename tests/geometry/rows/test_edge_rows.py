"""Rounds that suit edges: lengths of edges added up by hand, and which rows get the best round."""

from __future__ import annotations

import numpy as np
import pytest

from preprocess.geometry.base.sweep import Runs
from preprocess.geometry.rows.edge_rows import edge_lengths, rounds_by_edges


def runs(*rows):
    """Runs of rows given as (row, start, end)."""
    row, start, end = (np.array(x) for x in zip(*sorted(rows), strict=True))
    return Runs(row, start * 1.0, end * 1.0, np.zeros(len(row), np.int64))


def block(first, last, start=0, end=10):
    return [(n, start, end) for n in range(first, last + 1)]


def test_edges_are_what_no_row_above_or_below_lights():
    """A bar, below it two legs that touch it over 3 and 2 mm, and a row below a gap."""
    made = runs((0, 0, 10), (1, 0, 3), (1, 8, 12), (3, 0, 4))
    assert edge_lengths(made) == pytest.approx([10 + 5, 2 + 7, 0, 4 + 4])


@pytest.mark.parametrize("count", range(5, 41))
def test_both_edges_of_a_block_are_marked_as_early_as_their_distance_allows(count):
    found = rounds_by_edges(runs(*block(0, count - 1)), 4, 4)
    assert {found[0], found[-1]} <= {0, 1}
    assert 0 in (found[0], found[-1])
    for number in range(4):
        assert np.diff(np.flatnonzero(found == number)).min(initial=4) >= 2


@pytest.mark.parametrize("count", [39, 40, 41])
def test_with_one_colour_edges_come_last(count):
    found = rounds_by_edges(runs(*block(0, count - 1)), 4, 1)
    assert 3 in (found[0], found[-1])
    assert min(found[0], found[-1]) >= 2


def test_the_longest_edge_decides():
    """A short stem above a wide block whose upper edge is row 7."""
    found = rounds_by_edges(runs(*block(0, 6, 4, 5), *block(7, 31)), 4, 4)
    assert found[7] == 0
    assert found[31] == 0


def test_every_kth_row_is_of_one_round_but_for_the_last():
    found = rounds_by_edges(runs(*block(0, 49)), 8, 4)
    assert np.array_equal(found[8:-1], found[:-9])
    assert np.bincount(found).min() >= 5


def test_no_rows_have_no_rounds():
    nothing = np.empty(0)
    empty = Runs(nothing.astype(int), nothing, nothing, nothing.astype(int))
    assert len(rounds_by_edges(empty, 4, 4)) == 0
