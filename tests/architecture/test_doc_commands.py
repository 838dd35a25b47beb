"""Commands in docs/ run, and recipes in docs/ load.

A block fenced as `console` is run line by line in a folder with copies of the jobs: the fern as
label.yaml, and what it names, beside it. Blocks that cannot run here are fenced as `sh`.
"""

from __future__ import annotations

import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from preprocess.recipe.load import load_recipe
from tests.read.mesh.mesh_files import binary, box, document, item, mesh, package, solid

ROOT = Path(__file__).parents[2]
DOCS = sorted(p for p in (ROOT / "docs").rglob("*.md") if p.name != "description.md")
JOBS = ROOT / "fixtures" / "jobs"


def blocks(language: str) -> list[tuple[str, str]]:
    """Pages and blocks."""
    return [
        (path.relative_to(ROOT).as_posix(), text)
        for path in DOCS
        for text in re.findall(
            rf"^```{language}\n(.*?)^```$", path.read_text("utf-8"), re.DOTALL | re.MULTILINE
        )
    ]


IN_ORDER = "docs/use/start.md", "docs/use/series.md"
"""Pages that tests/docs_run.py runs from top to bottom."""

COMMANDS = {
    line.removeprefix("$ "): page
    for page, block in blocks("console")
    if page not in IN_ORDER
    for line in block.splitlines()
    if line.strip()
}
"""Each command once, with the last page that shows it."""


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder as the pages take it to be."""
    folder = tmp_path_factory.mktemp("bench")
    shutil.copytree(JOBS, folder / "fixtures" / "jobs")
    fern = folder / "fixtures" / "jobs" / "fern"
    recipe = (fern / "fern.yaml").read_text("utf-8")  # wide rows are predicted sooner
    (fern / "fern.yaml").write_text(recipe.replace("pitch: 0.1 mm", "pitch: 0.4 mm"), "utf-8")
    for path in fern.iterdir():
        shutil.copy(path, folder / path.name)
    shutil.copy(folder / "fern.yaml", folder / "label.yaml")
    (folder / "drawings").mkdir()
    (folder / "out").mkdir()
    shutil.copy(folder / "fern.svg", folder / "drawings" / "fern.svg")
    return folder


@pytest.mark.parametrize("line", COMMANDS)
def test_a_command_runs(line: str, bench: Path) -> None:
    program, *arguments = shlex.split(line, comments=True)
    assert program == "evenmark", f"{COMMANDS[line]}: fence what cannot run here as sh"
    done = subprocess.run(
        [sys.executable, "-m", "preprocess", *arguments],
        cwd=bench,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    for output in re.findall(r"(?:-o|--map|--report|--overlay|--sheet) ([\w.]+)", line):
        assert (bench / output).exists(), output


@pytest.mark.parametrize(("page", "text"), blocks("yaml"), ids=lambda value: value[:40])
def test_a_recipe_loads(page: str, text: str, tmp_path: Path) -> None:
    if text.startswith(("machine: 1", "filament: 1")):
        kind = text.partition(":")[0]
        (tmp_path / "file.yaml").write_text(text, "utf-8")
        text = f"{kind}: file.yaml\npasses: []\n"
    head = "" if text.startswith("recipe:") else "recipe: 1\ndesign: fern.svg\n"
    (tmp_path / "fonts").mkdir()
    (tmp_path / "moss-petg.yaml").write_text("filament: 1\nname: moss-green PETG\n", "utf-8")
    plate = box(0, 0, 0, 60, 30, 3)
    (tmp_path / "label.stl").write_bytes(binary(plate))
    (tmp_path / "label.3mf").write_bytes(package(document(solid(1, mesh(plate)), item(1))))
    (tmp_path / "label.yaml").write_text(head + text, "utf-8")
    assert load_recipe(tmp_path / "label.yaml").design == tmp_path / "fern.svg", page


def test_no_page_is_missing_from_the_index() -> None:
    index = (ROOT / "docs" / "README.md").read_text("utf-8")
    pages = [p.relative_to(ROOT / "docs").as_posix() for p in (ROOT / "docs").glob("*/*.md")]
    missing = [page for page in pages if f"]({page})" not in index]
    assert missing == []


def test_each_symptom_says_cause_check_and_remedy() -> None:
    page = (ROOT / "docs" / "use" / "symptoms.md").read_text("utf-8")
    sections = re.split(r"^## ", page, flags=re.MULTILINE)[2:-1]
    assert len(sections) == 10
    for section in sections:
        for word in ("Cause.", "How to check.", "Remedy."):
            assert f"**{word}**" in section, section.splitlines()[0]
        assert "```" in section, section.splitlines()[0]
