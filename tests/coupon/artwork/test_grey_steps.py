"""The coupon of greys: ten squares of greys, none of which shares a row with another."""

from __future__ import annotations

import base64
import csv
import io
import xml.etree.ElementTree as ET
from dataclasses import replace
from itertools import pairwise

import pytest
from PIL import Image

from preprocess.coupon.artwork.build import build
from preprocess.coupon.artwork.grey_steps import step_greys
from preprocess.coupon.design.defaults import CouponOverrides
from preprocess.coupon.design.define import define
from preprocess.coupon.paper.files import coupon_files
from preprocess.errors import Refusal
from preprocess.model.bench.machine import Grey
from tests.coupon.benches import BENCH, SETTINGS
from tests.coupon.drawn import FOLDER, SVG, paths

DATA = (FOLDER / "grey-steps.svg").read_bytes()
HREF = "{http://www.w3.org/1999/xlink}href"


def test_greys_go_from_the_lightest_to_black_in_even_steps():
    # 254 · (1 - n / 9)
    assert step_greys() == (254, 226, 198, 169, 141, 113, 85, 56, 28, 0)


def test_every_square_is_one_grey_of_25_by_25_pixels_and_as_large_as_drawn():
    images = list(ET.fromstring(DATA).iter(f"{SVG}image"))
    assert len(images) == 10
    for image, grey in zip(images, step_greys(), strict=True):
        assert (image.get("width"), image.get("height")) == ("2.5", "2.5")
        data = image.get(HREF).partition(",")[2]
        with Image.open(io.BytesIO(base64.b64decode(data))) as opened:
            assert opened.size == (25, 25)
            assert opened.getextrema() == (grey, grey)


def test_no_two_squares_of_a_layer_share_a_row_and_none_overlap():
    cells = {key: one for key, one in paths(DATA).items() if key.startswith("cell-")}
    greys = sorted(one.box for one in cells.values() if one.layer == "greys")
    rows = sorted((top, bottom) for _, top, _, bottom in greys)
    assert all(below[0] - above[1] > 0.5 for above, below in pairwise(rows))
    flats = [one for one in cells.values() if one.layer != "greys"]
    assert [one.layer for one in flats] == list("ABCDEF")
    assert min(one.box[0] for one in flats) - max(box[2] for box in greys) > 0.5


def test_each_lettered_square_stands_beside_a_numbered_one():
    cells = {key: one.box for key, one in paths(DATA).items() if key.startswith("cell-")}
    tops = {round(box[1], 4) for key, box in cells.items() if key[5:].isdigit()}
    assert all(round(box[1], 4) in tops for key, box in cells.items() if key[5:].isalpha())


def test_the_table_asks_for_the_equal_square():
    rows = list(csv.DictReader(io.StringIO((FOLDER / "grey-steps.grades.csv").read_text("utf-8"))))
    assert [row["cell"] for row in rows] == [str(n) for n in range(1, 11)]
    assert [row["grey"] for row in rows] == [str(grey) for grey in step_greys()]
    assert {(row["equals"], row["power"]) for row in rows} == {("", "")}


def test_a_curve_that_is_known_already_changes_nothing():
    plate = (60.0, 40.0)
    machine = BENCH.machine_or_default
    known = replace(machine, grey=Grey(from_=0.1, to=0.9, gamma=1.0))
    one = define("grey-steps", replace(BENCH, machine=machine), plate=plate, settings=SETTINGS)
    other = define("grey-steps", replace(BENCH, machine=known), plate=plate, settings=SETTINGS)
    assert build(one).id == build(other).id


def test_the_sheet_says_what_to_set():
    definition = define("grey-steps", BENCH, plate=(60.0, 40.0), settings=SETTINGS)
    sheet = coupon_files(definition, FOLDER / "x.svg").data[FOLDER / "x.coupon.html"].decode()
    for words in ("by grey", "one row a pixel", "no dithering", "equals", "CD"):
        assert words in sheet


def test_more_powers_than_letters_are_refused():
    powers = tuple(n / 100 for n in range(10, 90, 10))
    with pytest.raises(Refusal, match="too many"):
        define(
            "grey-steps",
            BENCH,
            plate=(60.0, 40.0),
            settings=SETTINGS,
            asked=CouponOverrides(powers=powers),
        )
