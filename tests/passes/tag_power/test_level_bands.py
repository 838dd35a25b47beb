"""Levels of rows, against hand calculations."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from preprocess.passes.tag_power.level_bands import level_limits, merged_runs


def test_limits_are_equal_steps_of_the_logarithm():
    assert level_limits(1.0, 16.0, 4) == pytest.approx([8, 4, 2])
    assert len(level_limits(1.0, 1.04, 4)) == 0


@pytest.mark.parametrize(
    ("levels", "least", "starts", "kinds"),
    [
        ([1, 1, 1, 2, 2, 2], 3, [0, 3], [1, 2]),
        ([1, 1, 1, 2, 1, 1, 1], 2, [0], [1]),
        ([1, 1, 1, 2, 3, 3, 3, 3], 2, [0, 3], [1, 3]),
        ([1, 1, 3, 3, 3, 2], 2, [0, 2], [1, 3]),
        ([2], 5, [0], [2]),
    ],
)
def test_short_runs_join_their_neighbour(levels, least, starts, kinds):
    first, kind = merged_runs(np.array(levels), least)
    assert (list(first), list(kind)) == (starts, kinds)


@given(st.lists(st.integers(1, 4), min_size=1, max_size=60), st.integers(1, 6))
def test_no_run_is_shorter_than_asked(levels, least):
    first, kind = merged_runs(np.array(levels), least)
    lengths = np.diff([*first, len(levels)])
    assert first[0] == 0
    assert len(first) == 1 or lengths.min() >= least
    assert all(kind[1:] != kind[:-1])
    assert set(kind) <= set(levels)
