"""The page about the job sheet: its command runs, and what it says of check squares loads."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

from lxml import html
from typer.testing import CliRunner

from preprocess.cli.app import app
from preprocess.preview.sheet.findings_view import ON_PAPER
from preprocess.recipe.load import load_recipe

ROOT = Path(__file__).parents[3]
PAGE = (ROOT / "docs" / "use" / "sheet.md").read_text("utf-8")


def block(kind: str) -> str:
    (found,) = re.findall(rf"```{kind}\n(.*?)```", PAGE, re.DOTALL)
    return found


def test_its_command_runs(tmp_path, monkeypatch) -> None:
    _, program, *words = shlex.split(block("console"))
    assert program == "evenmark"
    words = [str(ROOT / word) if word.startswith("fixtures/") else word for word in words]
    monkeypatch.chdir(tmp_path)
    done = CliRunner().invoke(app, [*words, "--quiet"])
    assert done.exit_code == 0, done.output
    page = html.parse(str(tmp_path / "fern.html")).getroot()
    headings = {one.text_content().lower() for one in page.iter("h2")}
    told = [name.lower() for name in re.findall(r"^\| ([a-z ]+) \|", PAGE, re.MULTILINE)]
    named = [name for name in told if name not in {"section", "head"}]
    assert len(named) == 7
    assert all(any(heading.startswith(name) for heading in headings) for name in named)


def test_its_recipe_line_loads() -> None:
    recipe = load_recipe(None, f"recipe: 1\ndesign: seed.svg\n{block('yaml')}passes: []\n").recipe
    assert recipe.check_square


def test_the_number_of_findings_on_paper_is_right() -> None:
    assert ON_PAPER == 12
    assert "first twelve kinds of findings" in PAGE
