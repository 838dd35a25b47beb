"""Details of the overlay: insets, rows in place of areas, lines that lay twice, very fine art."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from lxml import etree
from shapely import MultiPolygon, Polygon, box

from preprocess.model.artwork.artwork import Page
from preprocess.model.artwork.settings import Operation
from preprocess.preview.overlay.difference import compare_artworks
from preprocess.preview.overlay.insets import INSET_SIDE, choose_details
from preprocess.preview.overlay.overlay import compare_svg, overlay_svg
from tests.labels import fern_label, shape

SVG = "{http://www.w3.org/2000/svg}"
LABEL = replace(fern_label(), keep_off=(), page=Page(width=80.0, height=52.0))


def drawn(*shapes):
    return replace(LABEL, shapes=shapes, parts=())


def area(name, *boxes):
    return shape(name, "dots", Operation.ENGRAVE, MultiPolygon([box(*b) for b in boxes]))


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
    chosen, count = choose_details(compare_artworks(*nicked()), 2.0)
    assert count == 4
    assert [(d.x, d.y) for d in chosen] == [
        pytest.approx((x + s / 2, y + s / 2)) for x, y, s in NICKS[:3]
    ]


def test_changes_that_can_be_seen_are_not_enlarged() -> None:
    before = drawn(area("plate", (10, 10, 70, 45)))
    after = drawn(area("plate", (10, 10, 60, 45)))
    chosen, count = choose_details(compare_artworks(before, after), 2.0)
    assert (chosen, count) == ([], 0)
    assert not groups(compare_svg(before, after), "details")


@pytest.mark.parametrize("make", [overlay_svg, compare_svg])
def test_an_inset_is_drawn_to_the_scale_it_states(make) -> None:
    data = make(*nicked())
    assert "3 of 4 such places" in words(data)
    for number, (_, _, side) in enumerate(NICKS[:3], 1):
        scale = float(re.search(rf"{number}: ([\d.]+) times its size", words(data))[1])
        parts = groups(data, rf"detail-{number}-\d+")
        (nick,) = [g for g in parts if g[0].text.startswith("removed")]
        (ring,) = re.findall(r"M([^Z]+)Z", nick[-1].get("d"))
        found = Polygon(np.array(ring.split(), float).reshape(-1, 2))
        assert found.area == pytest.approx((side * scale) ** 2, rel=0.02)
        assert found.bounds[2] - found.bounds[0] < INSET_SIDE / 2


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
    chosen, count = choose_details(
        compare_artworks(drawn(area("plate", (10, 10, 70, 45))), after), 2.0
    )
    assert (len(chosen), count) == (1, 2)
