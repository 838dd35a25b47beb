"""Lettering from the command line: the recipe's folder of fonts, depfile, stops, same bytes."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path

import pytest

from preprocess.cli.app import main

_LETTERING = Path(__file__).parents[1] / "read" / "lettering.py"
LABEL = """<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="30mm" viewBox="0 0 60 30">
<text id="name" x="10" y="20" font-family="Fern Test" font-size="10">fern</text>
</svg>
"""
RECIPE = """recipe: 1
design: label.svg
fonts: {folder: letters, installed: false}
layers:
  - {name: words, operation: engrave, choose: {select: "#name"}}
passes: [merge]
"""


@pytest.fixture
def folder(tmp_path):
    spec = importlib.util.spec_from_file_location("lettering", _LETTERING)
    lettering = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(lettering)
    lettering.folder_of_fonts(tmp_path / "letters")
    (tmp_path / "label.svg").write_text(LABEL, "utf-8")
    (tmp_path / "label.yaml").write_text(RECIPE, "utf-8")
    return tmp_path


def run(monkeypatch, *arguments):
    monkeypatch.setattr(sys, "argv", ["evenmark", *map(str, arguments)])
    with pytest.raises(SystemExit) as caught:
        main()
    return caught.value.code


def test_the_folder_lies_beside_the_recipe_and_its_files_are_in_the_depfile(folder, monkeypatch):
    out, rule = folder / "out.svg", folder / "out.d"
    options = ("-o", out, "--depfile", rule, "--no-heat", "--quiet")
    assert run(monkeypatch, "run", folder / "label.yaml", *options) in {0, None}
    first = out.read_bytes()
    assert b'fill="' in first
    assert b"<text" not in first
    target = rule.read_text("utf-8").splitlines()[0]
    assert str(folder / "letters" / "fern-test.ttf") in target
    assert "fern-test-bold" not in target
    assert run(monkeypatch, "run", folder / "label.yaml", *options) in {0, None}
    assert out.read_bytes() == first


def test_a_missing_font_stops_and_writes_nothing(folder, monkeypatch, capfd):
    (folder / "letters" / "fern-test.ttf").unlink()
    (folder / "letters" / "fern-test-bold.ttf").unlink()
    code = run(monkeypatch, "run", folder / "label.yaml", "-o", folder / "out.svg")
    said = capfd.readouterr().err.replace("\n", " ")
    assert code == 1
    assert not (folder / "out.svg").exists()
    assert "stop: one text asks for a font that is missing: name (line 2; font Fern Test" in said
