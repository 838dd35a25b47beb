"""Labels of few nodes are those that scipy gives; the same numbers whichever way is taken."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from preprocess.geometry.base import connected


@pytest.mark.parametrize("seed", range(30))
@pytest.mark.parametrize("most", [0, 1_000_000])
def test_labels_are_those_of_scipy(monkeypatch, seed, most):
    monkeypatch.setattr(connected, "_FEW", most)
    chance = np.random.default_rng(seed)
    count = int(chance.integers(1, 60))
    pairs = chance.integers(0, count, (2, int(chance.integers(0, 2 * count))))
    links = coo_array((np.ones(pairs.shape[1]), tuple(pairs)), shape=(count, count))
    expected = connected_components(links, directed=False)[1]
    assert connected.component_labels(count, *pairs).tolist() == expected.tolist()


def test_no_nodes():
    nothing = np.zeros(0, dtype=np.int64)
    assert connected.component_members(0, nothing, nothing) == []
