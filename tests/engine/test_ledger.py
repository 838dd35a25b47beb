"""The books: what was there, what came and went, what is there now; sums by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest
from shapely import MultiLineString, MultiPolygon, box

from preprocess.engine.ledger import Amount, Change, Imbalance, amount_of, imbalances, totals
from preprocess.model.artwork.artwork import Artwork, Page
from preprocess.model.artwork.settings import Layer, Operation
from preprocess.model.artwork.shape import Shape

LEAF = Shape(
    id="leaf",
    layer="fronds",
    operation=Operation.ENGRAVE,
    geometry=MultiPolygon([box(0, 0, 3, 2)]),
    sources=(),
)
VEIN = replace(
    LEAF, id="vein", operation=Operation.SCORE, geometry=MultiLineString([[(0, 0), (3, 4)]])
)


def books(start, end, *changes, layer="fronds"):
    mine = [Change(layer=layer, added=added, removed=gone) for added, gone in changes]
    return imbalances({layer: start}, mine, {layer: end})


def test_bars_are_area_and_areas_have_no_length():
    barred = replace(LEAF, bars=MultiPolygon([box(5, 0, 6, 2)]))
    assert amount_of(LEAF) == Amount(area=6, length=0)
    assert amount_of(barred) == Amount(area=8, length=0)
    assert amount_of(VEIN) == Amount(area=0, length=5)


def test_totals_name_every_layer_and_count_overlaps_twice():
    layers = tuple(Layer(name=name, operation=None, settings={}) for name in ("fronds", "empty"))
    art = Artwork(page=Page(width=9, height=9), shapes=(LEAF, LEAF, VEIN), layers=layers)
    assert totals(art) == {"fronds": Amount(area=12, length=5), "empty": Amount()}


def test_amounts_add_up():
    assert Amount(area=1, length=2) + Amount(area=3, length=5) == Amount(area=4, length=7)


def test_books_that_balance():
    taken, put = Amount(area=4, length=1), Amount(area=1, length=7)
    assert books(Amount(area=10, length=2), Amount(area=7, length=8), (put, taken)) == ()
    assert books(Amount(), Amount()) == ()
    many = [(Amount(area=0.1), Amount())] * 10
    assert books(Amount(), Amount(area=1.0), *many) == ()


@pytest.mark.parametrize("what", ["area", "length"])
@pytest.mark.parametrize("off", [1e-3, -1e-3, 1e-6, -1e-6])
def test_what_is_missing_or_too_much_is_named(what, off):
    end = Amount(**{what: 100 + off})
    (wrong,) = books(Amount(**{what: 90.0}), end, (Amount(**{what: 10.0}), Amount()))
    assert wrong == Imbalance(layer="fronds", what=what, expected=100.0, found=100 + off)


def test_a_change_that_never_happened_and_one_that_nobody_booked():
    gone = Change(layer="veins", removed=Amount(length=5))
    (wrong,) = imbalances({"veins": Amount(length=5)}, [gone], {"veins": Amount(length=5)})
    assert (wrong.expected, wrong.found) == (0, 5)
    (wrong,) = imbalances({}, [], {"veins": Amount(length=5)})
    assert (wrong.layer, wrong.expected, wrong.found) == ("veins", 0, 5)
    (wrong,) = imbalances({"veins": Amount(length=5)}, [], {})
    assert (wrong.expected, wrong.found) == (5, 0)
    (wrong,) = imbalances({}, [Change(layer="seeds", added=Amount(area=1))], {})
    assert (wrong.layer, wrong.expected, wrong.found) == ("seeds", 1, 0)


def test_layers_are_told_in_order_and_one_never_pays_for_another():
    before = {"b": Amount(area=1), "a": Amount(area=1)}
    wrong = imbalances(before, [], {"a": Amount(area=2), "b": Amount(area=0)})
    assert [(one.layer, one.found - one.expected) for one in wrong] == [("a", 1), ("b", -1)]


def test_a_thousand_millionth_of_what_moved_is_rounding_and_twice_that_is_not():
    """Of what was there and what came, of what is there now, or of 1000 µm² where little is."""
    for start, added, end in ((0, 1000, 0), (1000, 0, 0), (1000, 1000, 1000)):
        moved = start + added
        for share, seen in ((0.5e-9, 0), (2e-9, 1)):
            found = books(
                Amount(area=start),
                Amount(area=end + share * moved),
                (Amount(area=added), Amount(area=moved - end)),
            )
            assert len(found) == seen
    for end, seen in ((0.5e-12, 0), (2e-12, 1)):
        assert len(books(Amount(), Amount(area=end))) == seen
