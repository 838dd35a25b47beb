"""Bad input: one clear sentence with place and remedy, exit 1, the old output untouched."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from tests.cli.inside import evenmark

if TYPE_CHECKING:
    from pathlib import Path

LABEL = """<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="30mm" viewBox="0 0 60 30">
<path id="leaf" d="M10 15 Q30 2 50 15 Q30 28 10 15Z"/>
</svg>
"""
RECIPE = """recipe: 1
machine: {name: bench, field: [130 mm, 90 mm], spot: 0.06 mm}
part: {outline: [60 mm, 30 mm]}
settings:
  engrave: {power: 55 %, speed: 900 mm/s, pitch: 0.1 mm}
  score: {power: 30 %, speed: 250 mm/s}
passes:
  - merge
"""
OLD = "the old output"


class Bench:
    """A folder with a good recipe and drawing, and an old output, to spoil one thing at a time."""

    def __init__(self, folder: Path, monkeypatch, capfd) -> None:
        self.folder, self.monkeypatch, self.capfd = folder, monkeypatch, capfd
        self.recipe, self.design, self.out = (
            folder / name for name in ("label.yaml", "label.svg", "label.laser.svg")
        )
        self.recipe.write_text(RECIPE, "utf-8")
        self.design.write_text(LABEL, "utf-8")
        self.out.write_text(OLD, "utf-8")

    def run(self, *arguments: str) -> tuple[int, str]:
        """Exit code of `evenmark run`, and what it said on standard error."""
        arguments = arguments or (str(self.recipe), str(self.design), "-o", str(self.out))
        said = evenmark(self.monkeypatch, self.capfd, "run", *arguments)
        return said.code, said.err

    def expect_refusal(self, *words: str, place: str) -> None:
        """The run ends with exit 1 and says these words; nothing is written."""
        code, said = self.run()
        assert code == 1, said
        assert "Traceback" not in said
        for word in words:
            assert re.search(word, said), (word, said)
        assert place in said
        assert self.out.read_text("utf-8") == OLD


@pytest.fixture
def bench(tmp_path: Path, monkeypatch, capfd) -> Bench:
    return Bench(tmp_path, monkeypatch, capfd)


def test_the_bench_itself_is_sound(bench: Bench) -> None:
    code, said = bench.run()
    assert code == 0, said
    assert bench.out.read_text("utf-8").startswith("<?xml")


def _nested(depth: int) -> str:
    return LABEL.replace("<path", "<g>" * depth + "<path").replace("/>\n", "/>" + "</g>" * depth)


BOMB = (
    "<!DOCTYPE svg [<!ENTITY a 'leafleafleaf'>"
    + "".join(f"<!ENTITY {chr(98 + i)} '{('&' + chr(97 + i) + ';') * 12}'>" for i in range(9))
    + "]>"
    + LABEL.replace("</svg>", "<desc>&j;</desc></svg>")
)
EXTERNAL = "<!DOCTYPE svg [<!ENTITY x SYSTEM 'file:///etc/hostname'>]>" + LABEL.replace(
    "</svg>", "<desc>&x;</desc></svg>"
)
DRAWINGS = {
    "empty file": ("", ["empty"]),
    "only spaces": (" \n ", ["empty|no SVG|not an SVG"]),
    "truncated": (LABEL[:120], ["XML|ends|cut"]),
    "binary": ("\x7fELF\x02\x01\x01\x00\x00\x01", ["no|not"]),
    "another format": ("<html><body/></html>", ["html|svg|SVG"]),
    "entity bomb": (BOMB, ["entit"]),
    "external entity": (EXTERNAL, ["entit"]),
    "nested groups": (_nested(10_000), ["nest|deep"]),
    "zero-size page": (LABEL.replace("60mm", "0mm"), ["size|width|page"]),
    "nothing to mark": (
        "<svg xmlns='http://www.w3.org/2000/svg' width='9mm' height='9mm'/>",
        ["nothing"],
    ),
}


@pytest.mark.parametrize("case", DRAWINGS)
def test_bad_drawings(bench: Bench, case: str) -> None:
    text, words = DRAWINGS[case]
    bench.design.write_text(text, "utf-8")
    place = "" if case in {"nothing to mark", "zero-size page"} else "label.svg"
    bench.expect_refusal(*words, place=place)


def test_a_missing_drawing(bench: Bench) -> None:
    bench.design.unlink()
    bench.expect_refusal("cannot be read|no such", place="label.svg")


RECIPES = {
    "tabs": ("passes:\n\t- merge", ["tab"], "label.yaml:8"),
    "unknown pass": ("passes:\n  - mergee", ["mergee", "merge"], "label.yaml:8"),
    "wrong unit": (
        "passes:\n  - inset-tips: {narrower_than: 0.4 s, by: 0.05 mm}",
        ["'s'", "length"],
        "label.yaml:8",
    ),
    "empty choice": (
        "passes:\n  - merge: {only: {label: Ferns}}",
        ["Ferns", "no "],
        "label.yaml:8",
    ),
    "impossible order": (
        "passes:\n  - equalize-width: {clearance: 2 mm, bar: 0.6 mm}\n  - merge",
        ["merge", "before"],
        "label.yaml:",
    ),
    "bars with no room": (
        "passes:\n  - merge\n  - equalize-width: {clearance: 60 mm, bar: 0.6 mm}",
        ["field|room", r"\d mm"],
        "label.yaml:9",
    ),
}


@pytest.mark.parametrize("case", RECIPES)
def test_bad_recipes(bench: Bench, case: str) -> None:
    passes, words, place = RECIPES[case]
    text = RECIPE[: RECIPE.index("passes:")] + passes + "\n"
    bench.recipe.write_text(text, "utf-8")
    bench.expect_refusal(*words, place=place)


def test_a_missing_recipe(bench: Bench) -> None:
    bench.recipe.unlink()
    bench.expect_refusal("no such file", place="label.yaml")


def test_a_missing_output_folder(bench: Bench) -> None:
    target = bench.folder / "nowhere" / "out.svg"
    code, said = bench.run(str(bench.recipe), str(bench.design), "-o", str(target))
    assert (code, "nowhere" in said, "Traceback" in said) == (1, True, False)


def test_an_output_that_is_the_input(bench: Bench) -> None:
    code, said = bench.run(str(bench.recipe), str(bench.design), "-o", str(bench.design))
    assert (code, "overwrite" in said) == (1, True)
    assert bench.design.read_text("utf-8") == LABEL


PIECES = {
    "cyclic use": ('<g id="a"><use href="#a"/></g>', "a"),
    "not a number": ('<path id="odd" d="M0 0H9V9ZM1 NaN L3 3"/>', "odd"),
    "out of range": ('<path id="odd" d="M0 0H9V9ZM1e400 0H3V3Z"/>', "odd"),
    "bad tail": ('<path id="odd" d="M0 0H9V9Z L 3"/>', "odd"),
}


@pytest.mark.parametrize("case", PIECES)
def test_a_bad_piece_is_left_out_with_a_warning_and_the_rest_is_done(
    bench: Bench, case: str
) -> None:
    piece, name = PIECES[case]
    bench.design.write_text(LABEL.replace("</svg>", piece + "</svg>"), "utf-8")
    code, said = bench.run()
    assert code == 0, said
    assert re.search(rf"warn: .*\b{name}\b", said), said
    assert 'id="leaf' in bench.out.read_text("utf-8") or "artwork" in bench.out.read_text("utf-8")
