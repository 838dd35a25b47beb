"""The pages of the first hour, run block by block by an installed evenmark, outside the checkout.

    python -m tests.docs_run            # README, start, series
    python -m tests.docs_run start      # one of them

The wheel is built and unpacked into a folder of its own; the libraries are those of this Python.
A page's commands run in the order of the page, in one folder, as they stand; its recipes and tables
become the files that the page says they are. The walkthrough and make.md have tests of their own
(tests/calibrate/test_calibrate_walkthrough.py, tests/architecture/test_make.py).
"""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import tempfile
import time
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from fontTools.fontBuilder import FontBuilder
from fontTools.pens.ttGlyphPen import TTGlyphPen

if TYPE_CHECKING:
    from collections.abc import Callable

ROOT = Path(__file__).parents[1]
LABEL = """<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="20mm" viewBox="0 0 40 20">
<path id="label-edge" d="M2 2 H38 V18 H2 Z" fill="none" stroke="#ff0000" stroke-width="0.1"/>
<g id="Fronds"><path d="M6 10 Q10 4 20 6 Q16 13 6 10 Z"/>
<path d="M7 10 H21" fill="none" stroke="#000" stroke-width="0.4"/></g>
<path class="helper" d="M0 10 H40" fill="none" stroke="#0000ff" stroke-width="0.1"/>
<path d="M24 8 h6" fill="none" stroke="#d06000" stroke-width="0.1"/>
<g font-family="Bed" font-size="3"><text id="plant-name" x="22" y="8">fern</text>
<text id="number" x="22" y="12">1</text><text id="nursery" x="22" y="16">bed</text></g></svg>
"""
WITHOUT_TEXT = re.sub(r"<g font-family.*?</g>", "", LABEL, flags=re.DOTALL)
RECIPE = """recipe: 1
part: {outline: "#label-edge"}
settings: {engrave: {power: 40 %, speed: 900 mm/s, pitch: 0.2 mm}}
"""
BY_HAND = re.compile(r"^(pipx|uvx|\. \.venv|python3 -m venv|cd )")
"""Commands that install evenmark itself; CI and the first command of the README do that."""

INSTALLED = """import re, sys, tomllib
extras = tomllib.load(open("{root}/pyproject.toml", "rb"))["project"]["optional-dependencies"]
for name in sys.argv[2:]:
    sys.exit(re.fullmatch(r"(?:evenmark|\\.)\\[(.*)\\]", name)[1] not in extras)
"""
"""Stands for pip: the extras of this repository are there already, others are refused."""


class Block(NamedTuple):
    """A fenced block of a page."""

    language: str
    text: str


def blocks(page: str) -> list[Block]:
    """All fenced blocks, in order."""
    text = (ROOT / page).read_text("utf-8")
    return [Block(*b) for b in re.findall(r"^```(\w+)\n(.*?)^```$", text, re.DOTALL | re.MULTILINE)]


def font(letters: str) -> FontBuilder:
    """A font of our own in which every letter is a box."""
    names = {ord(one): f"u{ord(one)}" for one in letters}
    builder = FontBuilder(1000, isTTF=True)
    builder.setupGlyphOrder([".notdef", *names.values()])
    builder.setupCharacterMap(names)
    pen = TTGlyphPen(None)
    for number, corner in enumerate([(50, 0), (50, 500), (350, 500), (350, 0)]):
        (pen.lineTo if number else pen.moveTo)(corner)
    pen.closePath()
    builder.setupGlyf(dict.fromkeys([".notdef", *names.values()], pen.glyph()))
    builder.setupHorizontalMetrics(dict.fromkeys([".notdef", *names.values()], (400, 50)))
    builder.setupHorizontalHeader(ascent=800, descent=-200)
    builder.setupNameTable({"familyName": "Bed", "styleName": "Regular"})
    builder.setupOS2()
    builder.setupPost()
    return builder


def install(folder: Path) -> dict[str, str]:
    """Unpack the wheel and put stand-ins beside it; returns the environment of a user."""
    pip = [sys.executable, "-m", "pip", "install", "-q", "--disable-pip-version-check"]
    alone = ["--no-deps", "--no-build-isolation", "--no-index", "--target", str(folder / "site")]
    subprocess.run([*pip, *alone, str(ROOT)], check=True)
    tools = folder / "tools"
    tools.mkdir()
    (tools / "pip.py").write_text(INSTALLED.format(root=ROOT), "utf-8")
    (tools / "pip").write_text(f'#!/bin/sh\nexec {sys.executable} {tools}/pip.py "$@"\n', "utf-8")
    (tools / "pip").chmod(0o755)
    first = [str(tools), str(folder / "site" / "bin"), str(Path(sys.executable).parent)]
    path = os.pathsep.join([*first, os.environ["PATH"]])
    return {**os.environ, "PATH": path, "PYTHONPATH": str(folder / "site")}


def run(commands: str, folder: Path, environment: dict[str, str]) -> None:
    """Run a block in one shell; what it leaves in the background ends with it.

    Raises:
        SystemExit: a command fails; what was said is in it.
    """
    lines = [line.removeprefix("$ ") for line in commands.splitlines()]
    text = "\n".join(line for line in lines if not BY_HAND.match(line))
    with (folder / "said").open("w+", encoding="utf-8") as said:
        shell = subprocess.Popen(
            ["bash", "-e", "-c", text],
            cwd=folder,
            env=environment,
            start_new_session=True,
            stdout=said,
            stderr=said,
        )
        try:
            code = shell.wait()
        finally:
            with suppress(ProcessLookupError):
                os.killpg(shell.pid, signal.SIGTERM)
        said.seek(0)
        if code:
            raise SystemExit(f"{text}\nleft with {code}:\n{said.read()}")


def start(folder: Path, environment: dict[str, str]) -> None:
    """docs/use/start.md: its recipe, its machine and its steps, one after another."""
    (folder / "fern.svg").write_text(WITHOUT_TEXT, "utf-8")
    label = folder / "label.yaml"
    for block in blocks("docs/use/start.md"):
        if block.language in {"console", "sh"}:
            run(block.text, folder, environment)
        elif block.text.startswith("recipe:"):
            label.write_text(block.text, "utf-8")
        elif block.text.startswith("machine:"):
            (folder / "bench.yaml").write_text(block.text, "utf-8")
            label.write_text(f"machine: bench.yaml\n{label.read_text('utf-8')}", "utf-8")
        else:
            kept = label.read_text("utf-8").partition("passes:")[0]
            label.write_text(kept + block.text, "utf-8")
            run("evenmark check label.yaml --no-heat\n", folder, environment)


def series(folder: Path, environment: dict[str, str]) -> None:
    """docs/use/series.md: the drawings, the table of values, the cluster."""
    (folder / "drawings").mkdir()
    (folder / "fonts").mkdir()
    font(" abcdefghijklmnopqrstuvwxyzN0123456789").save(folder / "fonts" / "bed.ttf")
    label = folder / "label.yaml"
    label.write_text(f"{RECIPE}passes: [merge]\n", "utf-8")
    for number in range(3):
        moved = WITHOUT_TEXT.replace("M6 10", f"M{6 - number} 10")
        (folder / "drawings" / f"bed-{number}.svg").write_text(moved, "utf-8")
    (folder / "label.svg").write_text(LABEL, "utf-8")
    for block in blocks("docs/use/series.md"):
        if block.language in {"console", "sh"}:
            run(block.text, folder, environment)
        elif block.language == "text":
            (folder / "plants.csv").write_text(block.text, "utf-8")
        else:
            label.write_text(f"{RECIPE}{block.text}", "utf-8")
        if "--executor" in block.text:
            break
        if "--values" in block.text:
            there = {path.name for path in (folder / "out").glob("*.svg")}
            assert {"shade.laser.svg", "sun.laser.svg"} <= there, there
            label.write_text(f"{RECIPE}passes: [merge]\n", "utf-8")


def readme(folder: Path, environment: dict[str, str]) -> None:
    """README.md: the commands for a drawing of one's own."""
    (folder / "label.svg").write_text(WITHOUT_TEXT, "utf-8")
    for block in blocks("README.md"):
        if block.language == "sh":
            run(block.text, folder, environment)
    assert (folder / "label.overlay.svg").is_file()


PAGES: dict[str, Callable[[Path, dict[str, str]], None]] = {
    "README": readme,
    "start": start,
    "series": series,
}


def main(names: list[str]) -> None:
    """Run the pages that are named, or all."""
    with tempfile.TemporaryDirectory() as there:
        environment = install(Path(there))
        for name in names or PAGES:
            folder = Path(there) / name
            folder.mkdir()
            began = time.monotonic()
            PAGES[name](folder, environment)
            print(f"{name}: all blocks run, {time.monotonic() - began:.0f} s")


if __name__ == "__main__":
    main(sys.argv[1:])
