from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from preprocess.passes._shared.unique_ids import unique_ids


@pytest.mark.parametrize(
    ("wanted", "taken", "given_"),
    [
        (["leaf", "seed"], [], ["leaf", "seed"]),
        (["leaf", "leaf", "seed"], [], ["leaf-1", "leaf-2", "seed"]),
        (["leaf"], ["leaf"], ["leaf-1"]),
        (["leaf", "leaf"], ["leaf-2"], ["leaf-1", "leaf-3"]),
        (["leaf", "leaf-1", "leaf"], [], ["leaf-1", "leaf-1-1", "leaf-2"]),
    ],
)
def test_ids(wanted, taken, given_):
    assert unique_ids(wanted, taken) == given_


NAMES = st.lists(st.sampled_from(["a", "b", "a-1", "a-2", "a-1-1", "b-1"]), max_size=12)


@given(NAMES, NAMES)
def test_ids_are_unlike_and_in_order(wanted, taken):
    found = unique_ids(wanted, taken)
    assert len(set(found)) == len(wanted)
    assert not set(found) & set(taken)
    assert all(one.startswith(name) for one, name in zip(found, wanted, strict=True))
