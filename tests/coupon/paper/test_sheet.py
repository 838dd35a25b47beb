"""The coupon sheet's words: in which order to mark, and what each grade means."""

from __future__ import annotations

import re

import pytest

from preprocess.coupon.design.define import define
from preprocess.coupon.design.definition import read_definition
from preprocess.coupon.design.model import CouponKind
from preprocess.coupon.paper.files import coupon_files
from preprocess.coupon.paper.texts import CLOSE_UP_GRADES, GRADE_TEXTS
from preprocess.model.artwork.settings import Operation, Settings
from preprocess.model.bench.anchors import Anchors
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.machine import Machine
from tests.coupon.drawn import FOLDER

MACHINE = Machine(name="bench galvo", field=(130.0, 90.0), spot=0.06, max_layers=8)
SETTINGS = {
    Operation.ENGRAVE: Settings(power=0.3, speed=900.0, pitch=0.1),
    Operation.SCORE: Settings(power=0.2, speed=250.0),
}


def sheet_of(kind: str) -> str:
    bench = Bench(machine=MACHINE)
    definition = define(kind, bench, plate=(60.0, 40.0), settings=SETTINGS)
    return coupon_files(definition, FOLDER / "x.svg").data[FOLDER / "x.coupon.html"].decode()


@pytest.mark.parametrize(
    ("kind", "order"),
    [
        ("power-speed", "A, B, C, D, E, F"),
        ("row-span", "A, B, C"),
        ("pitch", "A, B, C, D, E"),
        ("spot-bleed", None),
    ],
)
def test_the_sheet_says_in_which_order_to_mark(kind: str, order: str | None) -> None:
    sheet = sheet_of(kind)
    assert ("Mark one layer at a time" in sheet) == (order is not None)
    if order:
        assert f"in the order {order}: least power first" in sheet


@pytest.mark.parametrize(
    ("kind", "powers", "pitches"),
    [
        # 15, 30, 60 % at 900 mm/s, and 9, 18, 36 % at 450 mm/s, as least power comes first
        ("power-speed", [9, 15, 18, 30, 36, 60], [0.1] * 6),
        # one power, from 0.06 to 0.16 mm: close rows are hottest
        ("pitch", [30] * 5, [0.16, 0.125, 0.1, 0.08, 0.06]),
    ],
)
def test_layers_stand_in_the_file_in_the_order_of_marking(kind, powers, pitches) -> None:
    definition = define(kind, Bench(machine=MACHINE), plate=(60.0, 40.0), settings=SETTINGS)
    drawn = coupon_files(definition, FOLDER / "x.svg").data[FOLDER / "x.svg"].decode()
    titles = re.findall(r"<title>(.*?)</title>", drawn)
    assert titles == [*"ABCDEFG"[: len(powers)], "labels"]
    assert [100 * one.power for one in definition.settings] == pytest.approx(powers)
    assert [one.pitch for one in definition.settings] == pytest.approx(pitches)


def test_a_coupon_of_before_keeps_its_letters_and_says_the_order() -> None:
    # 21, 30, 42 % at 900 mm/s are A, B, C; 12, 18, 25 % at 450 mm/s are D, E, F
    definition = read_definition(FOLDER / "power-speed.coupon.yaml")
    made = coupon_files(definition, FOLDER / "x.svg")
    assert made.data[FOLDER / "x.svg"] == (FOLDER / "power-speed.svg").read_bytes()
    sheet = made.data[FOLDER / "x.coupon.html"].decode()
    assert sheet.count("in the order D, E, A, F, B, C: least power first") == 1


@pytest.mark.parametrize("kind", list(CouponKind))
def test_close_up_coupons_have_words_of_their_own_for_each_grade(kind: CouponKind) -> None:
    sheet = sheet_of(kind)
    close = kind in {
        CouponKind.BAR_DISTANCE,
        CouponKind.TIP_WIDTH,
        CouponKind.SPOT_BLEED,
        CouponKind.SCORE_DEPTH,
        CouponKind.RASTERED_INTERLEAVED,
        CouponKind.FIRST_ROW,
    }
    assert ("with a magnifier" in sheet) == close
    # the order of the table matters where a judge's drift is fitted, and tone is what is judged
    others = {CouponKind.FIELD_SCALE, CouponKind.GREY_STEPS, CouponKind.FOCUS_STEPS}
    by_tone = not close and kind not in others
    assert ("in the order of the table" in sheet) == by_tone
    assert ("one tone all over" in sheet) == by_tone
    for grade, words in CLOSE_UP_GRADES.get(kind, ()):
        assert f"<strong>{grade}</strong></dt><dd>{words}</dd>" in sheet
    if close:
        assert [grade for grade, _ in CLOSE_UP_GRADES[kind]] == [grade for grade, _ in GRADE_TEXTS]


def test_anchors_far_outside_leave_the_picture_of_the_plate_as_it_is() -> None:
    definition = define("row-span", Bench(machine=MACHINE), plate=(60.0, 40.0), settings=SETTINGS)
    pictures = []
    for anchors in (None, Anchors()):
        made = coupon_files(definition, FOLDER / "x.svg", anchors)
        sheet = made.data[FOLDER / "x.coupon.html"].decode()
        pictures.append(re.search(r"<figure[^>]*>\s*(<svg.*?</svg>)", sheet, re.DOTALL)[1])
        assert ("anchors" in sheet) == (anchors is not None)
    assert pictures[0] == pictures[1]
