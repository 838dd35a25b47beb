"""Details of the overlay: insets, rows in place of areas, lines that lay twice, very fine art."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
import shapely
from lxml import etree
from shapely import LineString, MultiLineString, MultiPolygon, Polygon, box

from preprocess.model.artwork.artwork import Page
from preprocess.model.artwork.settings import Operation
from preprocess.pipeline import convert
from preprocess.preview.drawing.canvas import Paint
from preprocess.preview.drawing.decimate import POINTS, coarsened
from preprocess.preview.drawing.entries import Entry, Section
from preprocess.preview.overlay.difference import compared
from preprocess.preview.overlay.insets import SIDE, details
from preprocess.preview.overlay.overlay import compare_svg, overlay_svg
from preprocess.recipe.load import load_recipe
from tests.labels import fern_label, shape

SVG = "{http://www.w3.org/2000/svg}"
PASSES = Path(__file__).parents[2] / "fixtures" / "passes"
LABEL = replace(fern_label(), keep_off=(), page=Page(width=80.0, height=52.0))


def drawn(*shapes):
    return replace(LABEL, shapes=shapes, parts=())


def area(name, *boxes):
    return shape(name, "dots", Operation.ENGRAVE, MultiPolygon([box(*b) for b in boxes]))


def lines(name, *coordinates):
    traced = MultiLineString([LineString(one) for one in coordinates])
    return shape(name, "name", Operation.SCORE, traced)


def groups(data, start):
    ids = etree.fromstring(data).iter(f"{SVG}g")
    return [g for g in ids if re.fullmatch(start, g.get("id"))]


def words(data):
    return " ".join(node.text for node in etree.fromstring(data).iter(f"{SVG}text"))


NICKS = [(20, 20, 0.4), (40, 20, 0.3), (60, 20, 0.2), (30, 40, 0.1)]
"""Left, top and side in mm of small squares that were taken away from a plate."""


def nicked():
    plate = box(10, 10, 70, 45)
    for x, y, side in NICKS:
        plate = plate.difference(box(x, y, x + side, y + side))
    after = shape("plate", "dots", Operation.ENGRAVE, MultiPolygon([plate]))
    return drawn(area("plate", (10, 10, 70, 45))), drawn(after)


def test_the_three_largest_small_changes_are_chosen() -> None:
    chosen, count = details(compared(*nicked()), 2.0)
    assert count == 4
    assert [(d.x, d.y) for d in chosen] == [
        pytest.approx((x + s / 2, y + s / 2)) for x, y, s in NICKS[:3]
    ]


def test_changes_that_can_be_seen_are_not_enlarged() -> None:
    before = drawn(area("plate", (10, 10, 70, 45)))
    after = drawn(area("plate", (10, 10, 60, 45)))
    chosen, count = details(compared(before, after), 2.0)
    assert (chosen, count) == ([], 0)
    assert not groups(compare_svg(before, after), "details")


@pytest.mark.parametrize("make", [overlay_svg, compare_svg])
def test_an_inset_is_drawn_to_the_scale_it_states(make) -> None:
    data = make(*nicked())
    assert "3 of 4 such places" in words(data)
    for number, (_, _, side) in enumerate(NICKS[:3], 1):
        scale = float(re.search(rf"{number}: ([\d.]+) times its size", words(data))[1])
        parts = groups(data, rf"detail-{number}-\d+")
        (nick,) = [g for g in parts if g[0].text.startswith("taken away")]
        (ring,) = re.findall(r"M([^Z]+)Z", nick[-1].get("d"))
        found = Polygon(np.array(ring.split(), float).reshape(-1, 2))
        assert found.area == pytest.approx((side * scale) ** 2, rel=0.02)
        assert found.bounds[2] - found.bounds[0] < SIDE / 2


def test_each_inset_is_numbered_in_the_picture() -> None:
    data = overlay_svg(*nicked())
    flags = groups(data, r"place-\d")
    assert [flag[-1].text for flag in flags] == ["1", "2", "3"]
    boxes = []
    for flag in flags:
        x, y = (float(flag[-1].get(key)) for key in "xy")
        boxes.append(box(x - 1, y - 3.2, x + 2.8, y + 1))
    assert not any(one.intersects(two) for one, two in combinations(boxes, 2))


def test_places_near_one_another_share_an_inset() -> None:
    plate = box(10, 10, 70, 45)
    near = plate.difference(box(20, 20, 20.3, 20.3)).difference(box(20.6, 20, 20.8, 20.2))
    after = drawn(shape("plate", "dots", Operation.ENGRAVE, MultiPolygon([near])))
    chosen, count = details(compared(drawn(area("plate", (10, 10, 70, 45))), after), 2.0)
    assert (len(chosen), count) == (1, 2)


def hatched(pitch: float):
    rows = [((20.05, y), (39.95, y)) for y in np.arange(20 + pitch / 2, 30, pitch).round(6)]
    return drawn(area("leaf", (20, 20, 40, 30))), drawn(lines("rows", *rows))


def test_rows_in_place_of_an_area_are_no_loss() -> None:
    found = compared(*hatched(0.2))
    assert found.hatched.area == pytest.approx(200)
    # 50 rows of 19.9 mm fill 200 mm²
    assert found.spacing == pytest.approx(200 / (50 * 19.9))
    assert found.removed.is_empty
    assert found.new_lines.is_empty
    assert "filled with lines 0.2 mm apart now" in words(overlay_svg(*hatched(0.2)))
    assert not found.is_none


def test_a_few_lines_do_not_fill_an_area() -> None:
    found = compared(*hatched(2.5))
    assert found.removed.area == pytest.approx(200)
    assert found.hatched.is_empty
    assert found.new_lines.length == pytest.approx(4 * 19.9)


def test_what_rows_leave_out_is_taken_away() -> None:
    after = hatched(0.2)[1]
    wider = drawn(area("leaf", (20, 20, 40, 30)), area("seed", (50, 20, 55, 25)))
    found = compared(wider, after)
    assert found.removed.area == pytest.approx(25)
    assert found.hatched.area == pytest.approx(200)


def test_lines_that_lay_twice_are_told() -> None:
    before = drawn(lines("vein", ((20, 20), (40, 20))), lines("copy", ((30, 20), (50, 20))))
    after = drawn(lines("vein", ((20, 20), (50, 20))))
    found = compared(before, after)
    assert found.twice_lines.length == pytest.approx(10, abs=0.001)
    assert "traced twice before, once now" in words(overlay_svg(before, after))


def test_crossings_and_lines_that_stay_double_are_not_told() -> None:
    cross = drawn(lines("a", ((20, 20), (40, 40))), lines("b", ((20, 40), (40, 20))))
    assert compared(cross, cross).is_none
    double = drawn(lines("a", ((20, 20), (40, 20))), lines("b", ((40, 20), (20, 20))))
    assert compared(double, double).is_none


def test_a_line_there_and_back_lies_twice() -> None:
    before = drawn(lines("vein", ((20, 20), (40, 20), (20, 20))))
    after = drawn(lines("vein", ((20, 20), (40, 20))))
    assert compared(before, after).twice_lines.length == pytest.approx(20, abs=0.001)


def test_dropped_lines_of_the_fixture_are_all_told() -> None:
    case = PASSES / "drop-duplicates" / "lines-there-and-back"
    result = convert(load_recipe(case / "recipe.yaml"), (case / "in.svg").read_bytes(), "in.svg")
    found = compared(result.before, result.after)
    # the ring, 4 · 6 mm, and both legs of the vein, 10 + 6 mm, each marked once now
    assert found.twice_lines.length == pytest.approx(40, abs=0.01)


def entry(geometry):
    paint = Paint(fill="#0072b2", stroke="#000000")
    return Entry(section=Section.LAYER, geometry=geometry, paint=paint, words="seeds")


def test_very_fine_artwork_is_drawn_in_strips() -> None:
    # squares of 0.12 mm, 0.2 mm apart, on half of a plate 60 mm wide: more than a sheet can show
    x, y = (a.ravel() for a in np.meshgrid(10 + 0.2 * np.arange(200), 10 + 0.2 * np.arange(100)))
    seeds = shapely.multipolygons(shapely.box(x, y, x + 0.12, y + 0.12))
    assert shapely.get_num_coordinates(seeds) > POINTS
    plate = entry(MultiPolygon([box(10, 10, 70, 30)]))
    (coarse, same), closed = coarsened([entry(seeds), plate], 2.0)
    assert same == plate
    assert closed == 0.2  # twice the gap of 0.08 mm is less on the sheet
    assert shapely.get_num_coordinates(coarse.geometry) < POINTS / 10
    assert coarse.geometry.area == pytest.approx(40 * 20, rel=0.02)
    assert coarse.paint.stroke == "none"


def test_gaps_that_can_be_seen_stay_open_in_strips() -> None:
    x, y = (a.ravel() for a in np.meshgrid(10 + 0.05 * np.arange(120), 10 + 0.05 * np.arange(100)))
    left = shapely.box(x, y, x + 0.03, y + 0.03)
    both = shapely.multipolygons([*left, *shapely.box(x + 30, y, x + 30.03, y + 0.03)])
    (coarse,), closed = coarsened([entry(both)], 2.0)
    assert closed
    assert coarse.geometry.area == pytest.approx(2 * 6 * 5, rel=0.1)
    assert not coarse.geometry.intersects(box(17, 5, 39, 20))


def test_fine_lines_become_strips_of_their_own_colour() -> None:
    x, swing = np.linspace(10, 60, 5), np.array([0, 0.1, 0, 0.1, 0])
    ways = [np.column_stack((x, 10 + 0.002 * i + swing)) for i in range(24_000)]
    fine = entry(shapely.multilinestrings(shapely.linestrings(np.array(ways))))
    (coarse,), closed = coarsened([fine], 2.0)
    assert closed
    assert coarse.paint.fill == "#000000"
    assert shapely.get_num_coordinates(coarse.geometry) < POINTS
    assert coarse.geometry.area == pytest.approx(50 * 48, rel=0.02)


def test_what_fits_is_drawn_as_it_is() -> None:
    plate = entry(MultiPolygon([box(10, 10, 70, 30)]))
    assert coarsened([plate, replace(plate, hidden=True)], 2.0) == ([plate], 0.0)
