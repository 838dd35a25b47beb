"""The page about coupons, the sheet of each kind, and warnings."""

from __future__ import annotations

from dataclasses import replace

import pytest

from preprocess.coupon.design.define import define
from preprocess.coupon.design.model import CouponKind
from preprocess.coupon.paper.files import coupon_files
from preprocess.coupon.paper.texts import GRADE_TEXTS, KIND_TEXTS
from preprocess.model.bench.machine import RasterGroups
from preprocess.write.verify.parsing import parse_written
from tests.coupon.benches import BENCH, MACHINE, PLATE, SETTINGS
from tests.coupon.drawn import FOLDER, KINDS


def test_fine_cells_that_share_rows_are_warned_of() -> None:
    machine = replace(MACHINE, raster_groups=RasterGroups.EACH_COLOUR)
    bench = replace(BENCH, machine=machine)
    definition = define("spot-bleed", bench, plate=PLATE, settings=SETTINGS)
    files = coupon_files(definition, FOLDER / "x.svg")
    assert "cells-share-rows" in {f.code for f in files.findings}
    sheet = files.data[FOLDER / "x.coupon.html"].decode()
    assert "sweeps all shapes of one colour together" in sheet


@pytest.mark.parametrize("kind", KINDS)
def test_the_sheet_has_cautions_settings_and_a_place_for_every_grade(kind: str) -> None:
    definition = define(kind, BENCH, plate=PLATE, settings=SETTINGS)
    files = coupon_files(definition, FOLDER / "x.svg")
    sheet = files.data[FOLDER / "x.coupon.html"].decode()
    for word in (
        "chlorinated",
        "Start low",
        "extract",
        "alone",
        "manual, local codes",
        "that you know",
    ):
        assert word in sheet
    assert ("sacrificial card" in sheet) == (kind == CouponKind.BAR_DISTANCE)
    count = len(files.coupon.cells)
    boxes = sheet.count('class="tick"')
    written = kind in {CouponKind.FIELD_SCALE, CouponKind.GREY_STEPS}
    words = 3 if kind == CouponKind.FOCUS_STEPS else 4
    assert boxes == (0 if written else words * count)
    layers = [layer.id for layer in parse_written(files.data[FOLDER / "x.svg"]).layers]
    assert sheet.count('class="step">') == len(layers)
    assert "http://" not in sheet.replace("http://www.w3.org/2000/svg", "")
    assert "lighter or darker" in sheet or kind == CouponKind.FIELD_SCALE


def test_the_page_lists_every_kind_with_what_it_measures() -> None:
    page = (FOLDER.parents[1] / "docs" / "use" / "coupons.md").read_text("utf-8")
    for kind in CouponKind:
        assert f"| `{kind}` | {KIND_TEXTS[kind].measures} |" in page
    for grade, said in GRADE_TEXTS[:4]:
        assert f"| `{grade}` | {said}".removesuffix(" to see") in page
