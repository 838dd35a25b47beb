"""The judge of random chains: it passes sound files, and finds each kind of planted fault."""

from __future__ import annotations

import json
import random
import re
from pathlib import Path

import numpy as np
import pytest
import shapely

from preprocess import pipeline
from preprocess.recipe.load import recipe_from_mapping
from tests.chains import written
from tests.chains.art import Drawn
from tests.chains.judge import judge, rounded
from tests.chains.orders import Proof, legal_chain
from tests.chains.pictures import Base, Frame, beyond_page, differences, near
from tests.chains.runs import random_chain, run
from tests.finding_list import findings

CODES = frozenset(one.code for one in findings(Path(__file__).parents[2]))
LEAVES = (
    '<path id="leaf" d="M6 10 Q14 4 22 10 Q14 16 6 10Z"/>',
    '<path id="stem" fill="none" stroke="#205030" stroke-width="0.8" d="M22 10 L34 12"/>',
)
LABEL = Drawn(
    width=40.0,
    height=20.0,
    marked=LEAVES,
    recipe={
        "part": {"outline": ["40 mm", "20 mm"]},
        "machine": {"name": "bench", "field": ["90 mm", "60 mm"], "spot": "0.06 mm"},
        "settings": {"engrave": {"power": "50 %", "speed": "900 mm/s", "pitch": "0.2 mm"}},
    },
)
STEPS = ["strokes-to-areas", "merge", {"inset-tips": {"narrower_than": "0.6 mm"}},
         {"equalize-width": {"clearance": "2 mm"}}]  # fmt: skip


@pytest.fixture(scope="module")
def files():
    loaded = recipe_from_mapping({"recipe": 1, **LABEL.recipe, "passes": STEPS})
    result = pipeline.convert(loaded, LABEL.svg, "label.svg")
    report = json.loads(pipeline.make_report(result, loaded, "label.svg"))
    sheet = pipeline.make_sheet(result, loaded, "label.svg")
    return result.data, pipeline.make_overlay(result, "label.svg"), sheet, report


def judged(data, sheet, report):
    growth = report["page"]["growth_mm"]
    left, top = growth["left"], growth["top"]
    part = shapely.box(left, top, left + 40, top + 20)
    return " ".join(judge(data, report, sheet, CODES, [part], []))


def pictured(data, overlay, report):
    page, growth = written.read(data), report["page"]["growth_mm"]
    frame = Frame(page.width, page.height, growth["left"], growth["top"])
    base = Base.of_drawing(LEAVES, frame, (40.0, 20.0))
    return " ".join(differences(base, page, written.read_overlay(overlay), frame, set()))


def test_sound_files_pass(files) -> None:
    data, overlay, sheet, report = files
    assert judged(data, sheet, report) == ""
    assert pictured(data, overlay, report) == ""


def test_a_missing_bar_is_found(files) -> None:
    data, overlay, sheet, report = files
    fewer = re.sub(rb'd="M[^M]*', b'd="', data, count=1)
    assert len(fewer) < len(data)
    said = judged(fewer, sheet, report)
    assert "the report says" in said
    assert "bars of artwork" in said
    assert "told as added, and not marked" in pictured(fewer, overlay, report)


def test_a_bar_too_near_the_part_is_found(files) -> None:
    data, _, sheet, report = files
    report = json.loads(json.dumps(report))
    for step in report["recipe_as_run"]["passes"]:
        if "equalize-width" in step:
            step["equalize-width"]["clearance"] = "2.01 mm"
    assert "mm from the part" in judged(data, sheet, report)


def test_a_false_ledger_is_found(files) -> None:
    data, _, sheet, report = files
    report = json.loads(json.dumps(report))
    report["ledger"][0]["steps"][0]["added"]["area_mm2"] += 0.5
    assert re.search(r"ledger of artwork is off by 0\.(49|50)", judged(data, sheet, report))


def test_another_file_and_an_unknown_code_are_found(files) -> None:
    data, _, sheet, report = files
    assert "the report is of another file" in judged(data + b"\n", sheet, report)
    note = {**report["findings"][0], "code": "rained-on"}
    assert "unknown code rained-on" in judged(data, sheet, {**report, "findings": [note]})


def test_an_overlap_that_is_not_told_is_found(files) -> None:
    data, _, sheet, report = files
    path = re.search(rb"<path .*?/>", data, re.DOTALL)[0]
    assert "overlap by" in judged(data.replace(path, path + path), sheet, report)


def test_a_change_that_the_overlay_hides_is_found(files) -> None:
    data, overlay, _, report = files
    without = re.sub(rb'<g id="entry-\d+"><title>drawn as strokes.*?</g>', b"", overlay,
                     flags=re.DOTALL)  # fmt: skip
    assert len(without) < len(overlay)
    assert "areas that are new and not told" in pictured(data, without, report)


def test_what_lies_beyond_the_page_is_cut_in_the_picture_too() -> None:
    bed = '<rect x="-5" y="4" width="20" height="2"/>'
    page = (40.0, 20.0)
    assert beyond_page([bed], page)
    assert not beyond_page(LEAVES, page)
    frame = Frame(60, 40, 10, 10)
    areas = Base.of_drawing([bed], frame, page).areas
    assert areas.sum() == pytest.approx(15 * 2 * frame.zoom**2, rel=0.05)


def test_the_pen_of_the_judge_does_not_stick_out_of_sharp_tips() -> None:
    """A corner of 32°, drawn in a group 1.8 times as large, and the same corner as written.

    A mitre reaches 1/sin 16° = 3.6 times half the pen beyond the corner: 6.5 pixels here.
    """
    frame = Frame(40, 40)
    corner = '<path fill="none" stroke="#205030" transform="scale(1.8)" d="M19 5H5L19 13.748"/>'
    drawn = Base.of_drawing([corner], frame, (40.0, 40.0)).lines
    as_written = frame.lines(["M34.2 9H9L34.2 24.746"])
    assert drawn.any()
    assert not (drawn & ~near(as_written)).any()


def test_rounding_goes_by_the_decimals_of_the_file() -> None:
    """Half a last digit in x and y is √½ of a digit."""
    asked = {"recipe_as_run": {"drawing": {"decimals": 3}}}
    assert 0.5**0.5 * 1e-3 < rounded(asked) < 0.8e-3
    assert 0.5**0.5 * 1e-4 < rounded({"recipe_as_run": {}}) < 1.2e-4


def test_even_odd_of_a_disc_in_a_square() -> None:
    turn = np.radians(np.arange(721) / 2 % 360)
    disc = np.column_stack([5 + 2 * np.cos(turn), 5 + 2 * np.sin(turn)])
    square = np.array([[0, 0], [10, 0], [10, 10], [0, 10], [0, 0]], dtype=float)
    # a regular 720-gon of radius 2 has 720/2 · 4 · sin(0.5°) mm²
    assert written.even_odd((square, disc)).area == pytest.approx(
        100 - 360 * 4 * np.sin(np.radians(0.5))
    )


def test_chains_are_legal_and_the_same_for_a_seed() -> None:
    for seed in range(4):
        drawn, steps, _ = random_chain(f"test-{seed}", [])
        assert steps == random_chain(f"test-{seed}", [])[1]
        assert Proof(drawn).holds(steps)
    assert legal_chain(random.Random(1), LABEL) == legal_chain(random.Random(1), LABEL)


def test_an_impossible_order_is_refused_by_the_proof() -> None:
    # a drawing that moves leaves its bars behind
    assert Proof(LABEL).holds(["merge", "equalize-width"])
    assert not Proof(LABEL).holds(["merge", "equalize-width", "place"])


@pytest.mark.parametrize("number", range(6))
def test_random_chains_hold(number: int) -> None:
    drawn, steps, _ = random_chain(f"16-{number}", [])
    found = run(f"16-{number}", drawn, steps, CODES, heat=False)
    assert found.how in {"written", "stopped", "refused"}
    assert found.wrong == []
