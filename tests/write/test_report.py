from __future__ import annotations

import json
import math
import re
from dataclasses import replace
from pathlib import Path

import pytest

from preprocess.engine.ledger import Amount, Change
from preprocess.findings import note, warn
from preprocess.model.artwork.artwork import Page
from preprocess.model.artwork.grey import GreyImage
from preprocess.model.artwork.picture import Picture
from preprocess.model.bench.machine import Machine
from preprocess.model.options.lettering import Lettering, Seat
from preprocess.write.report import RunRecord, run_report_bytes
from preprocess.write.row_figures import row_figures
from tests.labels import fern_label

DOCS = Path(__file__).parents[2] / "docs" / "use" / "report.md"
FREE = {
    "recipe_as_run",
    "versions",
    "heat.before",
    "heat.after",
    "seats[].says",
    "layers[].settings.extra",
}


def full_run() -> RunRecord:
    picture = Picture(
        id="photo", matrix=(0, -40, 20, 0, 5, 50), media="image/png", pixels=(4, 2), data=""
    )
    after = replace(fern_label(page=Page(width=90.0, height=52.0, left=-5.0)), pictures=(picture,))
    before = replace(
        after,
        page=Page(width=80.0, height=52.0),
        shapes=tuple(replace(s, bars=None, level=None) for s in after.shapes),
    )
    return RunRecord(
        design="fern-label.svg",
        before=before,
        after=after,
        colours={"fronds-1": "#0072b2", "fronds-2": "#d55e00", "dots": "#009e73"},
        ledger=(
            ("tag-power", (Change(layer="fronds"),)),
            ("equalize-width", (Change(layer="fronds", added=Amount(area=24.0), why="bars"),)),
        ),
        findings=(
            replace(warn("bars-mark-the-backing", "24 mm²", "card", elements=["a"]), spot=(1, 2)),
            note("check-turned-off", "no spot"),
        ),
        rows=row_figures(after, Machine()),
        layer_times={"dots": 12.3456789},
        times=(100.0, 123.4567891),
        setting_up=240.0,
        heat=({"median": 0.9}, {"median": 1.0}),
        seats=(Seat(number=1, texts=(Lettering(element="#name", text="fern"),)),),
        recipe={"recipe": 1, "passes": ["merge"]},
        versions={"shapely": "2.1", "evenmark": "0.1.0"},
    )  # fmt: skip


def keys(value, path=""):
    found = set()
    if isinstance(value, dict):
        for key, inner in value.items():
            here = f"{path}.{key}" if path else key
            found |= {here} | (set() if here in FREE else keys(inner, here))
    elif isinstance(value, list):
        for inner in value:
            found |= keys(inner, f"{path}[]")
    return found


def told(run: RunRecord):
    return json.loads(run_report_bytes(run))


def test_each_key_is_described_and_each_description_has_its_key():
    text = DOCS.read_text(encoding="utf-8")
    described = re.findall(r"^\| `([^`]+)` \| \S", text, re.MULTILINE)
    assert len(described) == len(set(described))
    assert set(described) == keys(told(full_run())) | keys(told(run_of_greys()))


def run_of_greys() -> RunRecord:
    """The same with engraved areas as an image of three greys and white."""
    image = GreyImage(
        columns=2, rows=2, greys=bytes([0, 255, 40, 90]), matrix=(0.1, 0, 0, 0.4, 0, 0), height=0.1
    )
    run = full_run()
    shapes = tuple(replace(s, grey=image) if s.is_engraved_area else s for s in run.after.shapes)
    return replace(run, after=replace(run.after, shapes=shapes))


def test_images_of_greys_by_hand():
    greys = [image for layer in told(run_of_greys())["layers"] for image in layer.get("greys", ())]
    assert greys
    for image in greys:
        assert len(image.pop("sha256")) == 64
        assert image == {
            "pixels": [2, 2],
            "pixel_mm": [0.1, 0.4],
            "darkest": 0,
            "lightest": 90,
            "marked_pixels": 3,
        }


def test_layers_by_hand():
    report = told(full_run())
    first, second, dots, name = report["layers"]
    assert (first["id"], first["level"], first["colour"]) == ("fronds-1", 1, "#0072b2")
    assert first["bars_mm2"] == 24.0  # two bars of 0.6 × 20 mm
    assert first["settings"]["power_percent"] == 55.0
    assert second["settings"]["power_percent"] == 49.5
    assert second["bars_mm2"] == 0
    assert dots["time_s"] == 12.3457
    assert (name["operation"], name["area_mm2"], name["colour"]) == ("score", 0, None)
    assert name["length_mm"] == pytest.approx(7.1235 + 4 + 2 * 13**0.5 + 5, rel=1e-5)


def test_pictures_by_hand():
    """Its upper edge runs upward, 40 mm long, from 5 mm right of where the page began at -5."""
    assert told(full_run())["images"] == [
        {
            "id": "photo",
            "type": "image/png",
            "pixels": [4, 2],
            "x_mm": 10,
            "y_mm": 50,
            "width_mm": 40,
            "height_mm": 20,
            "turned_deg": 90,
        }
    ]


def test_the_ledger_tells_each_step():
    fronds = told(full_run())["ledger"][0]
    assert [step["step"] for step in fronds["steps"]] == ["tag-power", "equalize-width"]
    added = sum(step["added"]["area_mm2"] for step in fronds["steps"])
    assert fronds["in"]["area_mm2"] + added == pytest.approx(fronds["out"]["area_mm2"], rel=1e-5)
    assert fronds["steps"][1]["why"] == "bars"


def test_rows_by_hand():
    # bars reach from 5 to 75 mm between y = 20 and 40: those rows span 70 mm
    rows = {row["layer"]: row for row in told(full_run())["rows"]}
    assert rows["fronds-1"]["span_mm"]["max"] == 70.0
    assert rows["fronds-1"]["groups"] == 1
    # a disc of radius 3 mm at a pitch of 0.1 mm
    assert rows["dots"]["lit"] == pytest.approx(60, abs=1)
    assert rows["dots"]["span_mm"]["max"] == pytest.approx(6.0, abs=0.02)
    assert "name" not in rows


def test_page_growth_and_offset():
    page = told(full_run())["page"]
    assert page["growth_mm"] == {"left": 5.0, "top": 0.0, "right": 5.0, "bottom": 0.0}
    # marks reach from x = 5 to 75 (bars), from y = 9 (disc) to 49.123456 (name)
    # and the part from 10 to 70 and from 4 to 50
    assert page["offset"]["x_mm"] == 0.0
    assert page["offset"]["y_mm"] == pytest.approx(27 - (9 + 49.123456) / 2, abs=1e-4)
    assert page["offset"]["along_mm"] == 0.0


def test_numbers_are_rounded_and_never_nan():
    run = replace(full_run(), times=(math.nan, 1234567.8), heat=({"max": math.inf}, {"p": -0.0}))
    report = told(run)
    assert report["time_s"] == {"before": None, "after": 1234570.0, "setting_up": 240.0}
    assert report["heat"]["before"] == {"max": None}
    assert "-0.0" not in run_report_bytes(run).decode()


def test_same_run_same_bytes_and_versions_in_order():
    run = full_run()
    assert run_report_bytes(run) == run_report_bytes(full_run())
    assert list(told(run)["versions"]) == ["evenmark", "shapely"]


def test_an_empty_run_still_has_its_keys():
    run = full_run()
    empty = replace(run.after, shapes=(), layers=(), parts=())
    report = told(RunRecord(design="-", before=empty, after=empty, colours={}))
    assert report["layers"] == report["ledger"] == report["findings"] == []
    assert report["page"]["offset"] is None


def test_words_of_any_script_stay_readable():
    data = run_report_bytes(replace(full_run(), design="Farnblätter シダ.svg"))
    assert "Farnblätter シダ.svg" in data.decode("utf-8")
