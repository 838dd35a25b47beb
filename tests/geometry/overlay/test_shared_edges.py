"""Boxes that come near another: by every pair, and in a crowd."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from shapely import box

from preprocess.geometry.overlay.shared_edges import close_to_others

CELL = st.integers(0, 6)
BOXES = st.lists(st.tuples(CELL, CELL, CELL, CELL), min_size=1, max_size=12).map(
    lambda all_: np.array([box(x, y, x + w + 1, y + h + 1) for x, y, w, h in all_])
)


@given(BOXES)
def test_crowded_is_whose_box_another_comes_near(parts):
    near = [
        any(i != j and a.distance(b) <= 2e-6 for j, b in enumerate(parts))
        for i, a in enumerate(parts)
    ]
    assert close_to_others(parts).tolist() == near


def test_copies_of_one_place_are_crowded_without_looking_at_every_pair():
    same = np.array([box(0, 0, 1, 1)] * 200_000 + [box(5, 5, 6, 6)])
    found = close_to_others(same)
    assert found[:-1].all()
    assert not found[-1]
