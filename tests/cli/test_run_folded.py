"""Findings that share a line under --verbose: on a small drawing of three layers, and by hand."""

from __future__ import annotations

import json
import re
from collections import Counter
from pathlib import Path

import pytest

from preprocess.cli import show
from preprocess.findings import note, stop, warn
from tests.cli.inside import evenmark

FERN = """<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">
<path id="frond" d="M5 8 L25 5 L25 11 Z"/>
<path id="moth" d="M5 24 L25 21 L25 27 Z"/>
<path id="seed" d="M35 24 L55 21 L55 27 Z"/></svg>"""
"""One long tip in each of three layers."""

RECIPE = """recipe: 1
design: fern.svg
layers:
  - {name: fronds, operation: engrave, choose: {select: "#frond"}}
  - {name: moths, operation: engrave, choose: {select: "#moth"}}
  - {name: seeds, operation: engrave, choose: {select: "#seed"}}
settings: {engrave: {power: 40 %, speed: 600 mm/s, pitch: 0.1 mm}}
passes: [{inset-tips: {narrower_than: 0.4 mm, by: 0.05 mm}}]
"""


@pytest.fixture
def run(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    Path("fern.svg").write_text(FERN)
    Path("fern.yaml").write_text(RECIPE)

    def told(*options):
        line = ("run", "fern.yaml", "-o", "out.svg", "--no-heat", *options)
        said = evenmark(monkeypatch, capsys, *line)
        assert said.code == 0
        return said

    return told


def test_no_kind_of_note_is_repeated_per_layer_and_none_is_lost(run) -> None:
    found = [json.loads(line) for line in run("--json").out.splitlines()]
    tips = [one for one in found if one.get("code") == "tip-inset"]
    assert [one["layer"] for one in tips] == ["fronds", "moths", "seeds"]
    told = run("--verbose").err.splitlines()
    assert max(map(len, told)) <= 100
    whole = "\n".join(told).replace("\n      ", " ")
    lines = [line for line in whole.splitlines() if line.startswith("note: ")]
    codes = [code for line in lines for code in re.split(", ", line.rpartition("[")[2].strip("]"))]
    assert max(Counter(codes).values()) == 1
    (line,) = (line for line in lines if "tip-inset" in line)
    for one in tips:
        assert one["message"] in line
        x, y = one["spot"]
        assert f"({one['elements'][0]}; at {x:.1f}, {y:.1f} mm)" in line


def test_alike_endings_and_remedies_stand_once(capsys) -> None:
    found = [
        note(
            "beyond-graded",
            "fern has long rows, up to 9 mm, but cells have 2: a guess",
            "grade",
        ),
        note(
            "beyond-graded",
            "moth has long rows, up to 7 mm, but cells have 2: a guess",
            "grade",
        ),
        note("another-scale", "fern is 72 mm long", "grade 72 mm"),
        warn("too-weak", "fern is weak", "more"),
        warn("too-weak", "moth is weak", "more"),
    ]
    show.print_findings(found, verbose=True)
    assert capsys.readouterr().err.splitlines() == [
        "note: fern has long rows, up to 9 mm;",
        "      moth has long rows, up to 7 mm, but cells have 2: a guess; grade;",
        "      fern is 72 mm long; grade 72 mm [beyond-graded, another-scale]",
        "warn: fern is weak; moth is weak; more [too-weak]",
    ]


def test_a_bracket_is_never_cut_in_two(capsys) -> None:
    found = [note("too-heavy", f"{one} is hot (uncalibrated: a guess)", "") for one in "ab"]
    show.print_findings(found, verbose=True)
    assert capsys.readouterr().err.splitlines() == [
        "note: a is hot (uncalibrated: a guess); b is hot (uncalibrated: a guess) [too-heavy]"
    ]


def test_stops_keep_lines_of_their_own(capsys) -> None:
    show.print_findings([stop("x", one, "mend it") for one in "ab"], verbose=True)
    assert capsys.readouterr().err.splitlines() == [
        "stop: a; mend it [x]",
        "stop: b; mend it [x]",
    ]


def test_cautions_keep_lines_of_their_own(capsys) -> None:
    show.print_findings([note("card-cautions", one, "read") for one in "ab"], verbose=True)
    assert capsys.readouterr().err.splitlines() == [
        "note: a; read [card-cautions]",
        "note: b; read [card-cautions]",
    ]
