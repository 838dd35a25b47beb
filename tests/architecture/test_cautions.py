"""Cautions stand wherever someone is about to mark, and say what not to do."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from shapely import box

from preprocess.cli.show import FIRST_MARK
from preprocess.coupon.paper.texts import coupon_cautions
from preprocess.jig import make_jig
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.machine import Machine
from preprocess.passes.equalize_width import EqualizeWidth
from preprocess.preview.sheet.checklist import CAUTIONS, checklist
from preprocess.preview.sheet.sheet_job import SheetJob
from tests.labels import fern_label
from tests.passes.benches import artwork, shape

PAGES = Path(__file__).parents[2] / "docs"


def of_bars():
    art = artwork([shape("a", box(20, 10, 30, 16))], [box(10, 6, 50, 34)])
    found = EqualizeWidth()(art, Bench()).findings
    (backing,) = [f for f in found if f.code == "backing-needed"]
    return f"{backing.message}; {backing.remedy}"


def of_the_work(*, bars):
    label = fern_label()
    shapes = label.shapes if bars else [s for s in label.shapes if s.bars is None]
    label = replace(label, shapes=tuple(shapes))
    job = SheetJob(
        title="fern", before=label, after=label, bench=Bench(), colours={}, findings=(),
        predicted=None, recipe={}, versions={},
    )  # fmt: skip
    return " ".join(line for _, lines in checklist(job) for line in lines)


def of_the_card():
    label = fern_label()
    card = make_jig(label, Bench(machine=Machine(field=(120.0, 90.0))), {})
    return " ".join(f"{f.message}; {f.remedy}" for f in card.findings)


TEXTS = {
    "bars": of_bars,
    "sheet": lambda: " ".join(CAUTIONS),
    "work": lambda: of_the_work(bars=True),
    "work without bars": lambda: of_the_work(bars=False),
    "coupon": lambda: " ".join(coupon_cautions(bars=False, known=False)),
    "coupon with bars": lambda: " ".join(coupon_cautions(bars=True, known=True)),
    "card": of_the_card,
    "first mark": lambda: " ".join(FIRST_MARK),
    "page of bars": lambda: (PAGES / "reference/passes/equalize-width.md").read_text("utf-8"),
    "page": lambda: (PAGES / "use/safety.md").read_text("utf-8"),
}


@pytest.mark.parametrize(
    ("where", "words"),
    [
        ("bars", ("matt sacrificial card", "no bare reflective metal", "beyond the bars")),
        ("sheet", ("matt sacrificial card", "never bare or polished metal", "extract", "filter")),
        ("sheet", ("chlorinated", "do not know", "Eyewear", "interlock", "alone", "manual")),
        ("work", ("Matt sacrificial card under the bars", "No bare or reflective metal")),
        ("work", ("Extraction and filter on", "Eyewear", "flame", "Stay with the machine")),
        ("work without bars", ("No bare or reflective metal", "Extraction and filter on")),
        ("coupon", ("chlorinated", "that you know", "extract", "Start low", "no grades yet")),
        ("coupon with bars", ("matt sacrificial card", "never bare or polished metal")),
        ("card", ("matt card", "never PVC", "shiny", "extract", "eyewear", "never leave it alone")),
        ("first mark", ("never PVC or vinyl", "extract", "eyewear", "closed", "never bare metal")),
        ("first mark", ("a spare part first", "stay with the machine", "matt card")),
        ("page of bars", ("matt sacrificial card, never bare or polished metal",)),
        ("page", ("matt, dark, sacrificial card", "Never leave bare or polished metal there")),
        ("page", ("Never mark chlorinated plastic", "interlocks", "no setting that evenmark")),
    ],
)
def test_what_not_to_do_is_said(where, words):
    text = " ".join(TEXTS[where]().split())
    assert [word for word in words if word not in text] == []


def test_the_backing_is_as_large_as_the_bars_and_their_light():
    # bars of 0.6 mm, 2 mm beside a label of 40 mm: 45.2 mm across, and rows from 10 to 16 mm
    assert "bars will mark" in of_bars()
    assert "within 45.2 ×" in of_bars()
