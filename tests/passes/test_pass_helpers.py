from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import MultiLineString, box

from preprocess.engine.ledger import Amount
from preprocess.engine.ledger_entries import exchange_entries
from preprocess.model.artwork.settings import Operation
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.machine import Machine, RasterGroups
from preprocess.passes._shared.sweep_effect import sweep_note
from preprocess.passes._shared.unique_ids import unique_ids
from tests.passes.strategies import shape


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


def test_entries_are_measured_layer_by_layer():
    area = shape("a", box(0, 0, 2, 3))
    line = replace(area, geometry=MultiLineString([[(0, 0), (5, 0)]]), operation=Operation.SCORE)
    other = replace(area, layer="seeds", bars=shape("x", box(0, 0, 1, 1)).geometry)
    one, two = exchange_entries([line, line], [area, other], "moved")
    assert (one.layer, one.removed, one.added) == ("leaflets", Amount(length=10), Amount(area=6))
    assert (two.layer, two.removed, two.added) == ("seeds", Amount(), Amount(area=7))
    assert exchange_entries([], [], "nothing") == ()


@pytest.mark.parametrize(
    ("machine", "told"),
    [
        (None, False),
        (Machine(), False),
        (Machine(raster_groups=RasterGroups.EACH_COLOUR), True),
    ],
)
def test_paths_matter_unless_each_colour_is_swept_as_a_whole(machine, told):
    assert bool(sweep_note("merge", Bench(machine=machine))) is told
