"""``evenmark measure`` as a person runs it, on photos made by calculation."""

from __future__ import annotations

import csv
import json
import re
import shutil

import pytest

from preprocess.photo.measured_file import read_measured
from tests.cli.inside import evenmark
from tests.coupon.drawn import FOLDER


@pytest.fixture
def run(tmp_path, monkeypatch, capsys, blades, upside_down, read):
    monkeypatch.chdir(tmp_path)
    for kind, scene in (("blades", blades), ("row-span", upside_down)):
        for ending in ("coupon.yaml", "grades.csv"):
            shutil.copy(FOLDER / f"{kind}.{ending}", tmp_path)
        shutil.copy(read(scene, kind)[0], tmp_path / f"{kind}.jpg")
    return lambda *arguments: evenmark(monkeypatch, capsys, "measure", *arguments)


def table_of(path):
    return list(csv.DictReader(path.read_text("utf-8").splitlines()))


def test_a_coupon_is_measured_into_a_page_figures_and_its_table(run, tmp_path) -> None:
    table = tmp_path / "row-span.grades.csv"
    rows = table_of(table)
    rows[0]["grade"] = "molten"
    with table.open("w", newline="") as file:
        writer = csv.DictWriter(file, rows[0].keys())
        writer.writeheader()
        writer.writerows(rows)
    said = run("row-span.coupon.yaml", "row-span.jpg", "blades.jpg")
    assert said.code == 0
    assert "blades.jpg: the drawing was not found in the window" in said.err
    assert "never says that a setting is safe" in " ".join(said.out.split())
    measured = read_measured(tmp_path / "row-span.measured.json")
    assert len(measured.places) == 12
    assert [photo.name for photo in measured.photos] == ["row-span.jpg"]
    after = table_of(table)
    assert [row["grade"] for row in after] == ["molten", *[""] * 11]
    tones = {place.cell: place.tone for place in measured.places}
    assert [float(row["tone"]) for row in after] == [round(tones[r["cell"]], 1) for r in after]
    page = (tmp_path / "row-span.measured.html").read_text()
    assert not re.findall(r'(?:src|href)="(?!data:)', page)
    assert "the outlines lie on the marks" in page
    assert "chlorinated" in page


def test_a_blade_has_a_course_of_tones(run, tmp_path) -> None:
    said = run("blades.coupon.yaml", "blades.jpg", "-o", "b.html", "--json")
    assert said.code == 0
    held = json.loads((tmp_path / "b.json").read_text())
    assert len(held["places"]) == 99
    assert "Tone by row span" in (tmp_path / "b.html").read_text()
    first = table_of(tmp_path / "blades.grades.csv")[0]
    assert re.fullmatch(r"-?[\d.]+ to -?[\d.]+", first["tone"])


@pytest.mark.parametrize(
    ("arguments", "code", "told"),
    [
        ([], 2, "name the thing and its photos"),
        (["row-span.coupon.yaml"], 2, "name the thing and its photos"),
        (["leaf.svg", "row-span.jpg"], 2, "leaf.svg is a drawing"),
        (["row-span.coupon.yaml", "none.jpg"], 1, "none.jpg: there is no such file"),
        (["none.coupon.yaml", "row-span.jpg"], 1, "there is no such file"),
        (["row-span.coupon.yaml", "row-span.grades.csv"], 1, "this is no picture"),
    ],
)
def test_what_cannot_be_measured_is_said_in_a_sentence(run, arguments, code, told) -> None:
    said = run(*arguments)
    assert said.code == code
    assert told in " ".join(said.err.split())
    assert "Traceback" not in said.err


def test_a_refused_photo_writes_nothing(run, tmp_path) -> None:
    before = (tmp_path / "row-span.grades.csv").read_bytes()
    said = run("row-span.coupon.yaml", "blades.jpg")
    assert said.code == 1
    assert "drawing was not found" in said.err
    assert (tmp_path / "row-span.grades.csv").read_bytes() == before
    assert not list(tmp_path.glob("*.measured.*"))
