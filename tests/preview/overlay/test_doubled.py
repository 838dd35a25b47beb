"""What lay twice in one layer: areas over areas, lines along lines."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from lxml import etree
from shapely import LineString, MultiLineString

from preprocess.model.artwork.artwork import Page
from preprocess.model.artwork.settings import Operation
from preprocess.pipeline import convert
from preprocess.preview.overlay.difference import compare_artworks
from preprocess.preview.overlay.overlay import overlay_svg
from preprocess.recipe.load import load_recipe
from tests.labels import fern_label, shape

SVG = "{http://www.w3.org/2000/svg}"


PASSES = Path(__file__).parents[3] / "fixtures" / "passes"


LABEL = replace(fern_label(), keep_off=(), page=Page(width=80.0, height=52.0))


def drawn(*shapes):
    return replace(LABEL, shapes=shapes, parts=())


def lines(name, *coordinates):
    traced = MultiLineString([LineString(one) for one in coordinates])
    return shape(name, "name", Operation.SCORE, traced)


def words(data):
    return " ".join(node.text for node in etree.fromstring(data).iter(f"{SVG}text"))


def test_lines_that_lay_twice_are_told() -> None:
    before = drawn(lines("vein", ((20, 20), (40, 20))), lines("copy", ((30, 20), (50, 20))))
    after = drawn(lines("vein", ((20, 20), (50, 20))))
    found = compare_artworks(before, after)
    assert found.twice_lines.length == pytest.approx(10, abs=0.001)
    assert "traced twice before, once now" in words(overlay_svg(before, after))


def test_crossings_and_lines_that_stay_double_are_not_told() -> None:
    cross = drawn(lines("a", ((20, 20), (40, 40))), lines("b", ((20, 40), (40, 20))))
    assert compare_artworks(cross, cross).is_none
    double = drawn(lines("a", ((20, 20), (40, 20))), lines("b", ((40, 20), (20, 20))))
    assert compare_artworks(double, double).is_none


def test_a_line_there_and_back_lies_twice() -> None:
    before = drawn(lines("vein", ((20, 20), (40, 20), (20, 20))))
    after = drawn(lines("vein", ((20, 20), (40, 20))))
    assert compare_artworks(before, after).twice_lines.length == pytest.approx(20, abs=0.001)


def test_dropped_lines_of_the_fixture_are_all_told() -> None:
    case = PASSES / "drop-duplicates" / "lines-there-and-back"
    result = convert(load_recipe(case / "recipe.yaml"), (case / "in.svg").read_bytes(), "in.svg")
    found = compare_artworks(result.before, result.after)
    # the ring, 4 · 6 mm, and both legs of the vein, 10 + 6 mm, each marked once now
    assert found.twice_lines.length == pytest.approx(40, abs=0.01)
