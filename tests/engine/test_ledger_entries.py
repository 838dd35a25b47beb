from __future__ import annotations

from dataclasses import replace

from shapely import MultiLineString, box

from preprocess.engine.ledger import Amount
from preprocess.engine.ledger_entries import entries_of, exchange_entries
from preprocess.model.artwork.settings import Operation
from tests.passes.strategies import shape


def test_entries_are_measured_layer_by_layer():
    area = shape("a", box(0, 0, 2, 3))
    line = replace(area, geometry=MultiLineString([[(0, 0), (5, 0)]]), operation=Operation.SCORE)
    other = replace(area, layer="seeds", bars=shape("x", box(0, 0, 1, 1)).geometry)
    one, two = exchange_entries([line, line], [area, other], "moved")
    assert (one.layer, one.removed, one.added) == ("leaflets", Amount(length=10), Amount(area=6))
    assert (two.layer, two.removed, two.added) == ("seeds", Amount(), Amount(area=7))
    assert exchange_entries([], [], "nothing") == ()


def test_entries_of_an_exchange_count_what_went_and_what_came():
    leaf, half = shape("leaf", box(0, 0, 2, 3)), shape("half", box(0, 0, 1, 3))
    (one,) = entries_of([(leaf, (half, half)), (half, ())], "cut")
    assert (one.removed, one.added) == (Amount(area=9), Amount(area=6))
