"""What lay twice in one layer: areas over areas, lines along lines."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from lxml import etree
from shapely import LineString, MultiLineString, MultiPolygon, Point, Polygon, box
from shapely.affinity import rotate, scale

from preprocess.geometry.base.normalise import as_area
from preprocess.model.artwork.artwork import Page
from preprocess.model.artwork.settings import Operation
from preprocess.pipeline import convert
from preprocess.preview.overlay.difference import compare_artworks
from preprocess.preview.overlay.doubled import doubled_areas, surplus_area
from preprocess.preview.overlay.overlay import overlay_svg
from preprocess.recipe.load import load_recipe
from tests.labels import fern_label, shape
from tests.passes.strategies import angles, areas, turned

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


def blades(count):
    """Blades one in another, of which none is like the next."""
    return [
        MultiPolygon([rotate(scale(Point(0, 0).buffer(10, quad_segs=24), size, 0.4 * size), size)])
        for size in 1.5 - np.arange(count) / (1.2 * count)
    ]


@pytest.mark.parametrize("count", [2, 3, 9])
def test_what_lies_in_two_nested_blades_or_more_is_the_second_one(count):
    shapes = [
        shape(f"blade-{n}", "dots", Operation.ENGRAVE, one) for n, one in enumerate(blades(count))
    ]
    given = [one.geometry for one in shapes]
    pairs = [a.intersection(b) for a, b in combinations(given, 2)]
    found = doubled_areas(shapes)
    assert found.area == pytest.approx(shapely.union_all(pairs).area, rel=1e-9)
    assert found.symmetric_difference(shapely.union_all(pairs)).area < 1e-6


@given(areas(least=2), angles)
@settings(max_examples=60)
def test_what_lies_twice_is_what_any_two_share(given_areas, angle):
    some = [as_area(turned(area, angle)) for area in given_areas]
    shapes = [shape(f"leaf-{n}", "dots", Operation.ENGRAVE, area) for n, area in enumerate(some)]
    want = shapely.union_all([a.intersection(b) for a, b in combinations(some, 2)])
    assert doubled_areas(shapes).symmetric_difference(want).area < 1e-4


def test_shapes_of_two_layers_do_not_lie_twice_in_one():
    one, two = blades(2)
    shapes = [
        shape("one", "dots", Operation.ENGRAVE, one),
        shape("two", "name", Operation.ENGRAVE, two),
    ]
    assert doubled_areas(shapes).is_empty


def test_near_copies_share_almost_all_of_one():
    """Twenty leaves off by a micrometre, and a seed that covers a quarter of them."""
    chance = np.random.default_rng(43)
    corners = np.array([(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)])
    leaves = [
        MultiPolygon([Polygon(corners + chance.uniform(-1e-6, 1e-6, (4, 2)))]) for _ in range(20)
    ]
    shapes = [shape(f"leaf-{n}", "name", Operation.ENGRAVE, leaf) for n, leaf in enumerate(leaves)]
    seed = shape("seed", "name", Operation.ENGRAVE, MultiPolygon([box(5, 5, 15, 15)]))
    assert doubled_areas([*shapes, seed]).area == pytest.approx(100, abs=1e-4)
    assert doubled_areas([shapes[0], seed]).area == pytest.approx(25, abs=1e-4)
    assert surplus_area([*shapes, seed]) == pytest.approx(20 * 100 + 100 - 175, abs=1e-3)
