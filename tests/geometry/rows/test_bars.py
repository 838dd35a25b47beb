"""Stretches of rows and pairs of bars beside them."""

from __future__ import annotations

import numpy as np
from shapely import MultiPolygon, box

from preprocess.geometry.rows.bars import bar_pairs, consecutive_runs


def test_stretches_of_consecutive_rows():
    assert consecutive_runs(np.array([2, 3, 4, 7, 9, 10])).tolist() == [[2, 4], [7, 7], [9, 10]]
    assert consecutive_runs(np.array([], dtype=int)).shape == (0, 2)


def test_pairs_stand_symmetrically():
    made = bar_pairs(np.array([1.0]), np.array([4.0]), centre=10.0, span=20.0, bar=2.0)
    assert made.equals(MultiPolygon([box(0, 1, 2, 4), box(18, 1, 20, 4)]))
