"""What the documents say is true: links, tables, examples, commands."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tomllib
from dataclasses import replace
from pathlib import Path
from types import ModuleType

import pytest
import shapely

from preprocess.cli.app import app
from preprocess.engine import registry
from preprocess.engine.facts import facts_of
from preprocess.engine.ledger import imbalances, totals
from preprocess.errors import Exit
from preprocess.model.artwork.artwork import Artwork, Page
from preprocess.model.artwork.settings import Layer, Operation
from preprocess.model.artwork.shape import Shape
from preprocess.model.artwork.source import Source
from preprocess.model.bench.bench import Bench
from preprocess.recipe.load import load_recipe

ROOT = Path(__file__).parents[2]
DOCUMENTS = sorted([*ROOT.glob("*.md"), *(ROOT / "docs").rglob("*.md")])
README = (ROOT / "README.md").read_text("utf-8")


def blocks(text: str, language: str) -> list[str]:
    return re.findall(rf"^```{language}\n(.*?)^```$", text, re.DOTALL | re.MULTILINE)


def anchors(path: Path) -> set[str]:
    titles = re.findall(r"^#+ (.+)$", path.read_text("utf-8"), re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", title).lower().replace(" ", "-") for title in titles}


def column(text: str, heading: str) -> list[str]:
    """First cells of the table whose first heading is this one, without marks and links."""
    table = re.search(rf"^\| {heading} \|.*\n\|[-|]+\|\n((?:\|.*\n)+)", text, re.MULTILINE)
    cells = [line.split("|")[1].strip() for line in table[1].splitlines()]
    return [re.sub(r"\[(.*?)\](\(.*?\))?", r"\1", cell).strip("`") for cell in cells]


@pytest.mark.parametrize("path", DOCUMENTS, ids=lambda path: path.relative_to(ROOT).as_posix())
def test_links_lead_somewhere(path: Path) -> None:
    text = path.read_text("utf-8")
    defined = dict(re.findall(r"^\[([^\]]+)\]: (\S+)$", text, re.MULTILINE))
    for link in (*re.findall(r"\]\(([^)]+)\)", text), *defined.values()):
        if link.startswith("https:"):
            continue
        name, _, anchor = link.partition("#")
        target = path.parent / name if name else path
        assert target.exists(), link
        assert not anchor or anchor in anchors(target), link


def test_the_readme_lists_all_passes_commands_and_exit_codes() -> None:
    assert sorted(column(README, "pass")) == sorted(registry.pass_names())
    commands = {c.name or c.callback.__name__ for c in app.registered_commands if not c.hidden}
    assert {row.split()[1] for row in column(README, "command")} == commands
    assert column(README, "exit code") == [str(code.value) for code in Exit]


def test_every_named_link_of_the_readme_is_defined() -> None:
    named = set(re.findall(r"^\| \[([^\]]+)\] \|", README, re.MULTILINE))
    defined = set(re.findall(r"^\[([^\]]+)\]: ", README, re.MULTILINE))
    assert named <= defined


def test_the_lines_of_the_readme_are_short() -> None:
    """But for the two commands, which are copied whole."""
    lines = [line for line in README.splitlines() if not line.startswith("$ ")]
    assert [line for line in lines if len(line) > 100] == []


def test_the_two_commands_stand_on_one_line_each() -> None:
    lines = [line for line in README.splitlines() if line.startswith("$ ")]
    assert len(lines) == 2
    first, second = lines
    assert "pip install -q . &&" in first
    for name in re.findall(r"fixtures/\S+", first):
        assert (ROOT / name).is_file()
    assert second.endswith("python -m pytest -n auto --dist loadfile")
    assert "pip install -q -e '.[test]' &&" in second


def test_each_dependency_has_its_reason() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
    named = [
        *project["build-system"]["requires"],
        *project["project"]["dependencies"],
        *(n for extra in project["project"]["optional-dependencies"].values() for n in extra),
    ]
    wanted = {re.match(r"[\w.-]+", name)[0] for name in named}
    listed = column((ROOT / "docs" / "project" / "decisions.md").read_text("utf-8"), "package")
    assert sorted(wanted) == sorted(listed)


def test_changes_are_numbered_without_gaps() -> None:
    names = sorted(p.name for p in (ROOT / "docs" / "project" / "changelog").glob("[0-9]*.md"))
    assert [int(name.split("-")[0]) for name in names] == list(range(1, len(names) + 1))


@pytest.mark.parametrize("name", ["README.md", "docs/use/start.md"])
def test_recipes_in_the_text_can_be_loaded(name: str, tmp_path: Path) -> None:
    found = blocks((ROOT / name).read_text("utf-8"), "yaml")
    whole = [text for text in found if text.startswith("recipe:")]
    passes = [text for text in found if text.startswith("passes:")]
    machines = [text for text in found if text.startswith("machine:")]
    assert len(whole) + len(passes) + len(machines) == len(found) > 0
    for text in [*whole, *(f"recipe: 1\ndesign: a.svg\n{text}" for text in passes)]:
        load_recipe(None, text)
    for text in machines:
        (tmp_path / "bench.yaml").write_text(text, "utf-8")
        (tmp_path / "a.yaml").write_text("recipe: 1\nmachine: bench.yaml\npasses: []\n", "utf-8")
        assert load_recipe(tmp_path / "a.yaml").machine.field == (130, 90)


def test_the_recipe_of_the_readme_is_that_of_the_job() -> None:
    (shown,) = [text for text in blocks(README, "yaml") if text.startswith("passes:")]
    assert (ROOT / "fixtures/jobs/fern/fern.yaml").read_text("utf-8").endswith(shown)


def test_the_python_of_the_readme_runs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    shutil.copytree(ROOT / "fixtures" / "jobs", tmp_path / "fixtures" / "jobs")
    monkeypatch.chdir(tmp_path)
    (source,) = blocks(README, "python")
    exec(compile(source, "README.md", "exec"), {})
    assert (tmp_path / "fern.laser.svg").stat().st_size > 0


def square(name: str, left: float, side: float, operation: Operation = Operation.ENGRAVE) -> Shape:
    area = shapely.MultiPolygon([shapely.box(left, 0, left + side, side)])
    return Shape(
        id=name, layer="seeds", operation=operation, geometry=area, sources=(Source(id=name),)
    )


def test_the_pass_of_the_developers_page_works(monkeypatch: pytest.MonkeyPatch) -> None:
    page = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    (source,) = blocks(page, "python")
    module = ModuleType("drop_specks")
    monkeypatch.setitem(sys.modules, module.__name__, module)
    exec(compile(source, "DEVELOPERS.md", "exec"), vars(module))
    specks = module.DropSpecks(smaller_than=0.25)
    before = Artwork(
        page=Page(width=30, height=10),
        shapes=(square("seed", 0, 5), square("speck", 10, 0.2), square("husk", 20, 0.3)),
        layers=(Layer(name="seeds", operation=Operation.ENGRAVE, settings={}),),
    )
    outcome = specks(before, Bench())
    assert [shape.id for shape in outcome.artwork.shapes] == ["seed", "husk"]
    (finding,) = outcome.findings
    assert finding.elements == ("speck",)
    assert outcome.changes[0].removed.area == pytest.approx(0.04)
    assert not imbalances(totals(before), outcome.changes, totals(outcome.artwork))
    kept = facts_of(before, "seeds") & specks.contract.keeps
    assert kept <= facts_of(outcome.artwork, "seeds")
    cut = replace(before, shapes=(square("speck", 0, 0.2, Operation.GUIDE),))
    assert specks(cut, Bench()).artwork == cut


@pytest.mark.skipif(shutil.which("make") is None, reason="there is no make on this machine")
def test_the_rules_for_make_chain_two_tools(tmp_path: Path) -> None:
    tools = tmp_path / "tools"
    tools.mkdir()
    for name, does in (
        ("tidy-svg", 'cat "$1"'),
        ("evenmark", f'{sys.executable} -m preprocess "$@"'),
    ):
        (tools / name).write_text(f"#!/bin/sh\nexec {does}\n", "utf-8")
        (tools / name).chmod(0o755)
    (rule,) = blocks(README, "make")
    (tmp_path / "Makefile").write_text(rule, "utf-8")
    (tmp_path / "seed.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="20mm" height="20mm" viewBox="0 0 20 20">'
        '<circle cx="10" cy="10" r="5"/></svg>',
        "utf-8",
    )
    (tmp_path / "label.yaml").write_text(
        "recipe: 1\nsettings: {engrave: {power: 50 %, speed: 900 mm/s, pitch: 0.1 mm}}\n"
        "passes: [merge]\n",
        "utf-8",
    )
    path = os.pathsep.join([str(tools), os.environ["PATH"]])
    environment = {**os.environ, "PATH": path, "PYTHONPATH": str(ROOT)}

    def make() -> str:
        done = subprocess.run(
            ["make", "seed.laser.svg"],
            cwd=tmp_path,
            env=environment,
            capture_output=True,
            text=True,
            check=True,
        )
        return done.stdout

    assert "evenmark run" in make()
    assert (tmp_path / "seed.overlay.svg").is_file()
    assert "label.yaml" in (tmp_path / "seed.d").read_text("utf-8")
    assert "up to date" in make()
    os.utime(tmp_path / "label.yaml", (2e9, 2e9))
    assert "evenmark run" in make()


def test_the_glossary_has_each_term_once_with_a_module_that_is_there() -> None:
    text = (ROOT / "docs/use/glossary.md").read_text("utf-8")
    rows = [line.strip("|").split("|") for line in text.splitlines() if line.startswith("| ")][1:]
    terms = [term.strip() for row in rows for term in row[0].split(",")]
    assert len(terms) == len(set(terms)) > 50
    for _, _, module in rows:
        path = ROOT / "preprocess" / module.strip(" `")
        assert path.is_dir() or path.with_suffix(".py").is_file(), module
