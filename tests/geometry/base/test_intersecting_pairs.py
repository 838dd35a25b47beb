"""Pairs against every with every, and crowds that no machine could hold."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import box

from preprocess.geometry.base import intersecting_pairs as module
from preprocess.geometry.base.intersecting_pairs import intersecting_pairs
from preprocess.geometry.base.ranges import expand_ranges

CELL = st.integers(0, 6)
BOXES = st.lists(st.tuples(CELL, CELL, CELL, CELL), min_size=1, max_size=12).map(
    lambda all_: np.array([box(x, y, x + w + 1, y + h + 1) for x, y, w, h in all_])
)


@given(BOXES, BOXES, st.sampled_from(["intersects", "overlaps", "covered_by"]))
def test_as_every_with_every(some, others, predicate):
    wanted = [
        (i, j)
        for i, one in enumerate(some)
        for j, other in enumerate(others)
        if getattr(shapely, predicate)(one, other)
    ]
    one, other = intersecting_pairs(some, others, predicate)
    assert sorted(zip(one.tolist(), other.tolist(), strict=True)) == wanted
    assert (np.diff(one) >= 0).all()


def test_in_small_steps_it_is_the_same(monkeypatch):
    row = np.array([box(x, 0, x + 1.5, 1) for x in range(50)])
    at_once = intersecting_pairs(row, row, "dwithin", 0.6)
    monkeypatch.setattr(module, "BATCH", 120)
    assert np.array_equal(intersecting_pairs(row, row, "dwithin", 0.6), at_once)
    assert len(at_once[0]) == 50 + 2 * 49 + 2 * 48  # itself, the next, and the one at 0.5 mm


def test_a_crowd_ends_in_time(monkeypatch):
    monkeypatch.setattr(module, "_MOST", 1000)
    same = np.array([box(0, 0, 1, 1)] * 40)
    with pytest.raises(MemoryError):
        intersecting_pairs(same, same)
    with pytest.raises(MemoryError):
        expand_ranges(np.zeros(3, dtype=int), np.full(3, 10**9))
