"""Marks on the stair, measured on the written file: the same on each step."""

from __future__ import annotations

import csv
import io
import re
from itertools import pairwise

import numpy as np
import pytest

from preprocess.coupon.artwork.stroke_font import stroke_lettering
from preprocess.coupon.design.defaults import CouponOverrides
from preprocess.coupon.design.define import define
from preprocess.coupon.paper.files import coupon_files
from preprocess.errors import Refusal
from tests.coupon.benches import BENCH, SETTINGS
from tests.coupon.drawn import FOLDER, page, paths

DATA = (FOLDER / "focus-steps.svg").read_bytes()
DRAWN = paths(DATA)
LABELS = [
    "+2.00",
    "+1.75",
    "+1.50",
    "+1.25",
    "+1.00",
    "+0.75",
    "+0.50",
    "+0.25",
    "0",
    "-0.25",
    "-0.50",
    "-0.75",
    "-1.00",
    "-1.25",
    "-1.50",
    "-1.75",
    "-2.00",
]
GRID = 2e-4


def test_every_step_has_the_same_bars_and_patch_a_whole_number_of_rows_apart():
    for part in (1, 2):
        first, *others = (DRAWN[f"cell-A{n}-{part}"].lines for n in range(1, 18))
        for lines in others:
            moves = [
                np.subtract(a, b)
                for la, lb in zip(lines, first, strict=True)
                for a, b in zip(la, lb, strict=True)
            ]
            assert np.ptp(moves, axis=0) == pytest.approx((0, 0), abs=GRID)
            assert moves[0][0] == pytest.approx(0, abs=GRID)
            rows = moves[0][1] / 0.1
            assert rows == pytest.approx(round(rows), abs=0.002)


def test_bars_and_gaps_are_as_wide_as_the_page_says():
    bars = DRAWN["cell-A9-1"]
    y = (bars.box[1] + bars.box[3]) / 2
    widths = [b - a for a, b in pairwise(bars.crossings(y))]
    fine, between, coarse = widths[:9], widths[9], widths[10:]
    assert fine == pytest.approx([0.15] * 9, abs=GRID)
    assert coarse == pytest.approx([0.3] * 5, abs=GRID)
    assert between > 0.3


def test_labels_are_the_heights_and_stay_off_the_edges():
    width, height = page(DATA)
    assert (width, height) == (60, 40)
    for number, words in enumerate(LABELS, 1):
        label = DRAWN[f"label-A{number}"]
        shape = stroke_lettering(words, 1.6)
        left, top, right, bottom = label.box
        assert (right - left, bottom - top) == pytest.approx(
            (shape.bounds[2] - shape.bounds[0], shape.bounds[3] - shape.bounds[1]), abs=GRID
        )
        assert len(label.lines) == len(shape.geoms)
    boxes = np.array([one.box for one in DRAWN.values()])
    assert boxes[:, :2].min() >= 1.0
    assert boxes[:, 3].max() <= 39.0
    # the middle step is in the middle: half a row of 0.1 mm at most
    patch = DRAWN["cell-A9-2"].box
    assert (patch[1] + patch[3]) / 2 == pytest.approx(20, abs=0.05)


def test_no_mark_touches_another():
    boxes = sorted(one.box for key, one in DRAWN.items() if key.startswith(("cell-", "label-")))
    for n, (left, top, right, bottom) in enumerate(boxes):
        for x0, y0, x1, y1 in boxes[n + 1 :]:
            assert x0 - right > 0.4 or top - y1 > 0.4 or y0 - bottom > 0.4 or left - x1 > 0.4


def test_the_table_asks_how_sharp_each_step_is():
    text = (FOLDER / "focus-steps.grades.csv").read_text("utf-8")
    rows = list(csv.DictReader(io.StringIO(text)))
    assert [float(row["off_focus"].removesuffix(" mm")) for row in rows] == [
        float(words) for words in LABELS
    ]
    assert {row["sharpness"] for row in rows} == {""}
    assert "grade" not in rows[0]


def test_the_sheet_says_where_to_focus_and_how_to_print():
    sheet = _files((60.0, 40.0)).data[FOLDER / "x.coupon.html"].decode().replace("\u00a0", " ")
    for words in (
        "on the middle step: A9, label 0, a notch at both ends, 4 mm above the bed",
        "17 steps of 0.25 mm",
        "layers of 0.25 or 0.125 mm",
        "automatic focus off",
        "−0.25 mm",
        "the highest step is 2 mm over the focus",
        "<strong>hardly</strong>",
    ):
        assert words in sheet


def _files(plate, asked=None):
    definition = define("focus-steps", BENCH, plate=plate, settings=SETTINGS, asked=asked)
    return coupon_files(definition, FOLDER / "x.svg")


@pytest.mark.parametrize(
    ("plate", "asked", "words"),
    [
        ((60.0, 30.0), {}, "needs .* only 60 × 30 mm"),
        ((30.0, 40.0), {}, "take a larger plate: the stair"),
        ((60.0, 40.0), {"room": (60.0, 30.0)}, "only 60 × 33 mm"),
        ((60.0, 40.0), {"lengths": (0.25, 0.5)}, "cannot rise by 0.25 mm, 0.5 mm"),
        ((60.0, 40.0), {"lengths": (2.0,)}, "give one rise from 0.05 mm to 1 mm"),
        ((60.0, 40.0), {"powers": (0.2, 0.3)}, "one layer, but 2 are given"),
    ],
)
def test_what_makes_no_stair_is_refused(plate, asked, words):
    overrides = CouponOverrides(**asked)
    with pytest.raises(Refusal) as refused:
        _files(plate, overrides)
    said = f"{refused.value.found}; {refused.value.remedy}"
    assert re.search(words, said), said
