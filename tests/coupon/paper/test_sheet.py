"""The coupon sheet's words: in which order to mark, and what each grade means."""

from __future__ import annotations

import pytest

from preprocess.coupon.design.define import define
from preprocess.coupon.design.model import CouponKind
from preprocess.coupon.paper.files import coupon_files
from preprocess.coupon.paper.texts import CLOSE_UP_GRADES, GRADE_TEXTS
from preprocess.model.artwork.settings import Operation, Settings
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
        # 15, 30, 60 % at 900 mm/s are A, B, C; 9, 18, 36 % at 450 mm/s are D, E, F
        ("power-speed", "D, A, E, B, F, C"),
        ("row-span", "A, B, C"),
        ("pitch", "E, D, C, B, A"),  # one power, from 0.06 to 0.16 mm: close rows are hottest
        ("spot-bleed", None),
    ],
)
def test_the_sheet_says_in_which_order_to_mark(kind: str, order: str | None) -> None:
    sheet = sheet_of(kind)
    assert ("Mark one layer at a time" in sheet) == (order is not None)
    if order:
        assert f"in the order {order}: least power first" in sheet


@pytest.mark.parametrize("kind", list(CouponKind))
def test_close_up_coupons_have_words_of_their_own_for_each_grade(kind: CouponKind) -> None:
    sheet = sheet_of(kind)
    close = kind in {
        CouponKind.BAR_DISTANCE,
        CouponKind.TIP_WIDTH,
        CouponKind.SPOT_BLEED,
        CouponKind.SCORE_DEPTH,
    }
    assert ("with a magnifier" in sheet) == close
    # the order of the table matters where a judge's drift is fitted, and tone is what is judged
    by_tone = not close and kind is not CouponKind.FIELD_SCALE
    assert ("in the order of the table" in sheet) == by_tone
    assert ("one tone all over" in sheet) == by_tone
    for grade, words in CLOSE_UP_GRADES.get(kind, ()):
        assert f"<strong>{grade}</strong></dt><dd>{words}</dd>" in sheet
    if close:
        assert [grade for grade, _ in CLOSE_UP_GRADES[kind]] == [grade for grade, _ in GRADE_TEXTS]
