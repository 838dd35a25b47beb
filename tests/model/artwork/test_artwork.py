from __future__ import annotations

from dataclasses import replace

from shapely import box

from tests.passes.strategies import artwork, shape


def test_shapes_are_exchanged_in_place():
    one, two, three = (shape(name, box(0, 0, 1, 1)) for name in ("one", "two", "three"))
    left, right = replace(two, id="left"), replace(two, id="right")
    before = artwork([one, two, three])
    after = before.exchanged([(two, (left, right)), (three, ())])
    assert [s.id for s in after.shapes] == ["one", "left", "right"]
    assert [s.id for s in before.shapes] == ["one", "two", "three"]


def test_equal_shapes_are_exchanged_one_by_one():
    one = shape("leaf", box(0, 0, 1, 1))
    twin = replace(one)
    assert twin == one
    assert artwork([one, twin]).exchanged([(twin, ())]).shapes == (one,)
