"""The record of a series: an entry to each plate, its seats in the order of the table."""

from __future__ import annotations

import csv
import hashlib
import json
import shlex
from pathlib import Path

import pytest
from ruamel.yaml import YAML

from tests.cli.inside import evenmark
from tests.read import lettering

LABEL = """<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="20mm" viewBox="0 0 40 20">
<path id="edge" d="M1 1 H39 V19 H1 Z" fill="none" stroke="#f00" stroke-width="0.1"/>
<text id="name" x="4" y="12" font-family="Fern Test" font-size="5">f</text>
<path id="dot" d="M30 8 H33 V11 H30 Z"/></svg>"""

RECIPE = """recipe: 1
design: label.svg
machine: {name: bench galvo, field: [200 mm, 200 mm], spot: 0.06 mm}
filament: {name: moss PETG, polymer: PETG}
part: {outline: "#edge"}
fonts: {folder: fonts, installed: false}
text: [{element: "#name", column: plant}]
settings: {engrave: {power: 40 %, speed: 600 mm/s, pitch: 0.1 mm}}
passes:
  - place: {copies: [2, 1], spacing: [44 mm, 24 mm]}
  - merge
"""
NAMES = ["fern", "emi", "of", "ein", "omen"]
"""Five labels on trays of two seats: three plates, the last one half empty."""

PLATES = "series label.yaml label.svg -d out --values names.csv --tray --no-heat --record log"


@pytest.fixture
def bench(tmp_path, monkeypatch, capsys):
    """Runs a command in a folder with a tray and its names; gives exit code and what was said."""
    monkeypatch.chdir(tmp_path)
    Path("fonts").mkdir()
    Path("fonts/fern.ttf").write_bytes(lettering.font_bytes())
    Path("label.svg").write_text(LABEL)
    Path("label.yaml").write_text(RECIPE)
    names_are(NAMES)

    def run(line):
        said = evenmark(monkeypatch, capsys, *shlex.split(line))
        return said.code, said.out + said.err

    return run


def names_are(names):
    Path("names.csv").write_text("plant\n" + "".join(f"{name}\n" for name in names))


def entries():
    return [YAML(typ="safe").load(path.read_text()) for path in sorted(Path("log").iterdir())]


def plates_by_hand() -> list[list[dict]]:
    """Rows of the table two by two, read by the csv module alone."""
    with Path("names.csv").open(newline="") as file:
        rows = [row["plant"] for row in csv.DictReader(file)]
    return [
        [
            {"seat": seat, "plate": plate, "says": {"#name": name}}
            for seat, name in enumerate(rows[2 * plate - 2 : 2 * plate], 1)
        ]
        for plate in (1, 2, 3)
    ]


def test_each_plate_gets_an_entry_with_its_seats(bench) -> None:
    code, said = bench(f"{PLATES} --workers 2")
    assert code == 0
    assert "3 done" in said
    assert "record: log" in said
    assert [one["seats"] for one in entries()] == plates_by_hand()
    assert [one["number"] for one in entries()] == [1, 2, 3]
    for plate, one in enumerate(entries(), 1):
        assert (one["design"], one["svg"]) == ("label.svg", f"label-plate-{plate}.laser.svg")
        written = Path("out", one["svg"]).read_bytes()
        assert one["svg_sha256"] == hashlib.sha256(written).hexdigest()
        assert one["filament"] == "moss PETG"


def test_the_same_series_is_recorded_once_and_a_changed_plate_anew(bench) -> None:
    bench(PLATES)
    before = {path.name: path.read_bytes() for path in Path("log").iterdir()}
    assert "3 unchanged" in bench(PLATES)[1]
    bench(f"{PLATES} --replace")
    assert {path.name: path.read_bytes() for path in Path("log").iterdir()} == before
    names_are([*NAMES[:2], "reef", *NAMES[3:]])
    assert "1 done, 2 unchanged" in bench(PLATES)[1]
    assert [one["number"] for one in entries()] == [1, 2, 3, 4]
    assert entries()[3]["seats"] == plates_by_hand()[1]


def test_json_names_the_entry_of_each_plate(bench) -> None:
    lines = [json.loads(line) for line in bench(f"{PLATES} --json")[1].splitlines()]
    told = {one["design"]: one["entry"] for one in lines if one["kind"] == "recorded"}
    assert list(told.values()) == sorted(path.name for path in Path("log").iterdir())
    assert list(told) == sorted(one["design"] for one in lines if one["kind"] == "design")


def test_plates_that_were_made_without_a_record_are_recorded_later(bench) -> None:
    bench(PLATES.replace(" --record log", ""))
    assert not Path("log").exists()
    assert "3 done" in bench(PLATES)[1]
    assert [one["seats"] for one in entries()] == plates_by_hand()


def test_a_bad_grade_is_told_of_the_next_plates_and_stops_a_strict_series(bench) -> None:
    bench(PLATES)
    bench('log 2 --record log --grade heavy --note "tips charred"')
    names_are([*NAMES[:4], "roof"])
    code, said = bench(f"{PLATES} --json")
    assert code == 0
    assert "graded heavy before, with the same settings" in said
    assert "entry 2 of the record" in said
    names_are([*NAMES[:4], "room"])
    code, said = bench(f"{PLATES} --strict")
    assert code == 1
    assert "tips charred" in said
    assert len(entries()) == 4


def test_a_record_that_cannot_be_is_said_before_any_work(bench) -> None:
    Path("log").write_text("no folder")
    code, said = bench(PLATES)
    assert code == 1
    assert "this is no folder" in said
    assert not Path("out").exists()
