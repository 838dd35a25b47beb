"""Areas that are rows of lines now."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from lxml import etree
from shapely import LineString, MultiLineString, MultiPolygon, Polygon, box

from preprocess.model.artwork.artwork import Page
from preprocess.model.artwork.settings import Operation
from preprocess.pipeline import convert
from preprocess.preview.overlay.difference import compare_artworks
from preprocess.preview.overlay.overlay import overlay_svg
from preprocess.recipe.load import load_recipe
from tests.labels import fern_label, shape

SVG = "{http://www.w3.org/2000/svg}"


LABEL = replace(fern_label(), keep_off=(), page=Page(width=80.0, height=52.0))


def drawn(*shapes):
    return replace(LABEL, shapes=shapes, parts=())


def area(name, *boxes):
    return shape(name, "dots", Operation.ENGRAVE, MultiPolygon([box(*b) for b in boxes]))


def lines(name, *coordinates):
    traced = MultiLineString([LineString(one) for one in coordinates])
    return shape(name, "name", Operation.SCORE, traced)


def words(data):
    return " ".join(node.text for node in etree.fromstring(data).iter(f"{SVG}text"))


def hatched(pitch: float):
    rows = [((20.05, y), (39.95, y)) for y in np.arange(20 + pitch / 2, 30, pitch).round(6)]
    return drawn(area("leaf", (20, 20, 40, 30))), drawn(lines("rows", *rows))


def test_rows_in_place_of_an_area_are_no_loss() -> None:
    found = compare_artworks(*hatched(0.2))
    assert found.hatched.area == pytest.approx(200)
    # 50 rows of 19.9 mm fill 200 mm²
    assert found.spacing == pytest.approx(200 / (50 * 19.9))
    assert found.removed.is_empty
    assert found.new_lines.is_empty
    assert "filled with lines 0.2 mm apart now" in words(overlay_svg(*hatched(0.2)))
    assert not found.is_none


def test_a_few_lines_do_not_fill_an_area() -> None:
    found = compare_artworks(*hatched(2.5))
    assert found.removed.area == pytest.approx(200)
    assert found.hatched.is_empty
    assert found.new_lines.length == pytest.approx(4 * 19.9)


def test_what_rows_leave_out_is_taken_away() -> None:
    after = hatched(0.2)[1]
    wider = drawn(area("leaf", (20, 20, 40, 30)), area("seed", (50, 20, 55, 25)))
    found = compare_artworks(wider, after)
    assert found.removed.area == pytest.approx(25)
    assert found.hatched.area == pytest.approx(200)


def test_rows_that_run_out_fill_the_area_alone() -> None:
    rows = [((15, y), (45, y)) for y in np.arange(20.1, 30, 0.2).round(6)]
    found = compare_artworks(drawn(area("leaf", (20, 20, 40, 30))), drawn(lines("rows", *rows)))
    assert found.hatched.area == pytest.approx(200)
    # 50 rows of 20 mm fill 200 mm², and go on for 5 mm at either end
    assert found.spacing == pytest.approx(0.2)
    assert found.new_lines.length == pytest.approx(50 * 10)


def test_rows_from_edge_to_edge_fill_a_slanted_area() -> None:
    # a square on its tip, of 8 mm half a diagonal: rows end on its edges, where rounding counts
    rows = [((20 + abs(y), 20 + y), (36 - abs(y), 20 + y)) for y in np.arange(-7.9, 8, 0.2)]
    square = MultiPolygon([Polygon([(20, 20), (28, 12), (36, 20), (28, 28)])])
    leaf = shape("leaf", "dots", Operation.ENGRAVE, square)
    found = compare_artworks(drawn(leaf), drawn(lines("rows", *rows)))
    assert found.hatched.area == pytest.approx(128, abs=0.1)
    assert found.removed.area == pytest.approx(0, abs=0.1)
    assert found.new_lines.is_empty


STEM = """<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="20mm" viewBox="0 0 40 20">
<path id="stem" fill="none" stroke="#205030" stroke-width="0.4" d="M4 10 L12 10.01 L20 10 L36 12"/>
</svg>"""
SIMPLIFIED = "recipe: 1\npasses: [simplify: {within: 0.02 mm}]\n"


def test_a_scored_stroke_that_moves_a_little_was_no_area_before() -> None:
    result = convert(load_recipe(None, SIMPLIFIED), STEM.encode(), "stem.svg")
    found = compare_artworks(result.before, result.after)
    assert found.hatched.is_empty
    # one stretch of 16 mm stands for two; near its ends, 0.08 mm, it lies within 0.1 µm of them
    assert found.new_lines.length == pytest.approx(15.84, abs=0.001)
    assert found.lost_lines.length == pytest.approx(15.84, abs=0.001)
