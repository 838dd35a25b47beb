"""Images of greys of drawings that were placed, mirrored, turned and copied, read by Pillow."""

from __future__ import annotations

import pytest
import shapely
from shapely import MultiPolygon

from preprocess.pipeline import convert
from preprocess.recipe.load import load_recipe
from tests.passes.cases import paths_of

LEAF = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">'
    '<path id="leaf" d="M4 9 Q9 2 20 7 L18 12 Q10 9 6 14 Z"/></svg>'
)
RECIPE = """recipe: 1
design: leaf.svg
machine: {{name: bench galvo, turnaround: 1.2 ms, grey: {{from: 5 %, to: 95 %, gamma: 1}}}}
settings:
  engrave: {{power: 50 %, speed: 400 mm/s, pitch: 0.2 mm, angle: {angle} deg}}
passes: [{passes}]
"""
CELL = 0.2
CASES = {
    "as drawn": ("", 0),
    "mirrored": ("{place: {mirror: true}}, ", 0),
    "turned": ("{place: {rotate: 37 deg, shift: [10 mm, 5 mm]}}, ", 0),
    "copied": ("{place: {copies: [2, 2], spacing: [24 mm, 18 mm]}}, ", 0),
    "upright rows": ("", 90),
    "slanted rows": ("{place: {shift: [10 mm, 8 mm]}}, ", 30),
    "rows upside down": ("", 180),
}


def written(passes, angle):
    text = RECIPE.format(passes=passes, angle=angle)
    result = convert(load_recipe(None, text, "leaf.svg"), LEAF.encode(), "leaf.svg")
    assert result.data is not None, result.findings
    return paths_of(result.data)


def area_of(paths):
    return shapely.union_all([path.geometry for path in paths])


@pytest.mark.parametrize("case", CASES)
def test_pixels_cover_what_would_be_engraved(case):
    place, angle = CASES[case]
    drawn = area_of(written(f"{place}merge", angle))
    cells = area_of(written(f"{place}merge, {{grey: {{images: 1, solve: false}}}}", angle))
    # cells along edges are in by half: beyond a cell from the edge there is no difference
    off = cells.symmetric_difference(drawn)
    assert off.difference(drawn.boundary.buffer(CELL)).area < 1e-6
    assert cells.area == pytest.approx(drawn.area, rel=0.01)


def test_rounds_of_a_turned_image_make_up_the_single_one():
    one = area_of(written("merge, {grey: {images: 1, solve: false}}", 30))
    four = written("merge, {grey: {images: 4, solve: false}}", 30)
    assert len(four) == 4
    # each pixel of the four is four rows high: together they cover the one, and what lies beside
    assert area_of(four).buffer(1e-3).covers(one)
    assert sum(path.geometry.area for path in four) == pytest.approx(4 * one.area, rel=1e-3)
    assert isinstance(four[0].geometry, MultiPolygon)
