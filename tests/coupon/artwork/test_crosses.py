"""Crosses on a coupon: where they stand, and what they leave bare."""

from __future__ import annotations

from itertools import combinations

import pytest
from shapely import MultiLineString, Polygon, box

from preprocess.coupon.artwork.crosses import placed_crosses
from tests.coupon.drawn import FOLDER, paths

PLATE = (60.0, 40.0)


@pytest.fixture(scope="module")
def blades():
    return paths((FOLDER / "blades.svg").read_bytes())


def middles(drawn):
    boxes = [p.box for name, p in drawn.items() if name.startswith("cross-")]
    return [((b[0] + b[2]) / 2, (b[1] + b[3]) / 2) for b in boxes], boxes


def test_blades_carry_eight_to_ten_crosses_of_two_millimetres(blades) -> None:
    _, boxes = middles(blades)
    assert 8 <= len(boxes) <= 10
    for left, top, right, bottom in boxes:
        assert (right - left, bottom - top) == pytest.approx((2.0, 2.0), abs=2e-4)


def test_crosses_are_scored_with_the_labels(blades) -> None:
    crosses = [p for name, p in blades.items() if name.startswith("cross-")]
    assert {(p.layer, p.filled) for p in crosses} == {("labels", False)}


def test_crosses_stand_on_bare_plastic_within_the_plate(blades) -> None:
    marks = [Polygon(p.lines[0]) for name, p in blades.items() if name.startswith("cell-")]
    marks += [MultiLineString(p.lines) for name, p in blades.items() if name.startswith("label-")]
    for name, path in blades.items():
        if not name.startswith("cross-"):
            continue
        lines = MultiLineString(path.lines)
        assert min(lines.distance(mark) for mark in marks) >= 1.0, name
        assert box(1.4, 1.4, 58.6, 38.6).contains(lines), name


def test_crosses_are_spread_over_the_plate(blades) -> None:
    places, _ = middles(blades)
    for (x0, y0), (x1, y1) in combinations(places, 2):
        assert (x1 - x0) ** 2 + (y1 - y0) ** 2 >= 25 - 1e-6
    xs, ys = zip(*places, strict=True)
    assert max(xs) - min(xs) > 45
    assert max(ys) - min(ys) > 25


def test_a_full_plate_has_no_crosses() -> None:
    assert placed_crosses(PLATE, [box(1, 1, 59, 39)]) == ()


def test_an_empty_plate_has_ten() -> None:
    assert len(placed_crosses(PLATE, [box(29, 19, 31, 21)])) == 10
