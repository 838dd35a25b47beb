"""Growth of the page and the way from the box to the part's centre, by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from shapely import MultiPolygon, box

from preprocess.model.artwork.artwork import Page
from preprocess.model.artwork.settings import Layer, Operation, Settings
from preprocess.write.placing import growth, offset
from tests.labels import fern_label, shape


def test_offset_is_turned_with_the_rows():
    # rows at 90° run upward as seen: along = −y, across = x
    artwork = fern_label()
    mark = shape("m", "m", Operation.ENGRAVE, MultiPolygon([box(20, 10, 30, 20)]))
    layer = Layer(
        name="m", operation=None, settings={Operation.ENGRAVE: Settings(angle=90.0, pitch=0.1)}
    )
    turned = offset(replace(artwork, shapes=(mark,), layers=(layer,)))
    assert turned == {
        "x_mm": 15.0, "y_mm": 12.0, "along_mm": -12.0, "across_mm": 15.0, "angle_deg": 90.0,
    }  # fmt: skip


def test_offset_at_an_odd_angle_keeps_its_length():
    artwork = fern_label()
    mark = shape("m", "m", Operation.ENGRAVE, MultiPolygon([box(20, 10, 30, 20)]))
    layer = Layer(name="m", operation=None, settings={Operation.ENGRAVE: Settings(angle=17.0)})
    way = offset(replace(artwork, shapes=(mark,), layers=(layer,)))
    assert math.hypot(way["along_mm"], way["across_mm"]) == pytest.approx(
        math.hypot(way["x_mm"], way["y_mm"])
    )
    # a rectangle's middle is the same in every frame
    assert (way["x_mm"], way["y_mm"]) == pytest.approx((15, 12))


def test_offset_without_part_or_mark_is_unknown():
    artwork = fern_label()
    assert offset(replace(artwork, parts=())) is None
    assert offset(replace(artwork, shapes=())) is None


def test_growth_by_hand():
    before = Page(width=10.0, height=10.0, left=1.0, top=2.0)
    after = Page(width=14.0, height=16.0, left=-1.0, top=-1.0)
    assert growth(before, after) == {"left": 2, "top": 3, "right": 2, "bottom": 3}
