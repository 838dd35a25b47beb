"""`evenmark start` from outside: where it writes, what it refuses, what it says."""

from __future__ import annotations

import subprocess
import sys
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from pathlib import Path

SEED = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="20mm" height="20mm" viewBox="0 0 20 20">'
    '<circle cx="10" cy="10" r="5"/></svg>'
)
EMPTY = SEED.replace("circle", "g")


def evenmark(folder: Path, *arguments: str, given: str = "") -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "preprocess", *arguments]
    return subprocess.run(
        command, cwd=folder, capture_output=True, text=True, check=False, input=given
    )


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "seed.svg").write_text(SEED, "utf-8")
    return tmp_path


def test_the_recipe_lies_beside_the_drawing_and_runs(folder: Path) -> None:
    done = evenmark(folder, "start", "seed.svg")
    assert done.returncode == 0, done.stderr
    assert "wrote seed.yaml" in done.stderr
    ran = evenmark(folder, "run", "seed.yaml")
    assert ran.returncode == 0, ran.stderr
    assert (folder / "seed.laser.svg").is_file()


def test_a_recipe_elsewhere_finds_its_drawing(folder: Path) -> None:
    (folder / "recipes").mkdir()
    assert evenmark(folder, "start", "seed.svg", "-o", "recipes/first.yaml").returncode == 0
    assert 'design: "../seed.svg"' in (folder / "recipes/first.yaml").read_text("utf-8")
    assert evenmark(folder, "check", "recipes/first.yaml").returncode == 0


@pytest.mark.parametrize("to", [[], ["-o", "seed.yaml"]])
def test_what_is_there_is_kept_unless_told(folder: Path, to: list[str]) -> None:
    (folder / "seed.yaml").write_text("mine", "utf-8")
    done = evenmark(folder, "start", "seed.svg", *to)
    assert done.returncode == 1
    assert "seed.yaml: this recipe exists already" in done.stderr
    assert (folder / "seed.yaml").read_text("utf-8") == "mine"
    assert evenmark(folder, "start", "seed.svg", *to, "--replace").returncode == 0
    assert (folder / "seed.yaml").read_text("utf-8") != "mine"


def test_it_pipes(folder: Path) -> None:
    done = evenmark(folder, "start", "-", given=SEED)
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("# yaml-language-server: $schema=evenmark.schema.json\n")
    assert "design:" not in done.stdout
    assert evenmark(folder, "check", "-", "seed.svg", given=done.stdout).returncode == 0


def test_a_drawing_with_nothing_to_mark_gets_no_recipe(folder: Path) -> None:
    (folder / "seed.svg").write_text(EMPTY, "utf-8")
    done = evenmark(folder, "start", "seed.svg")
    assert done.returncode == 1
    assert "nothing to mark" in done.stderr
    assert not (folder / "seed.yaml").exists()


def test_the_drawing_is_never_written_over(folder: Path) -> None:
    done = evenmark(folder, "start", "seed.svg", "-o", "seed.svg", "--replace")
    assert done.returncode == 1
    assert (folder / "seed.svg").read_text("utf-8") == SEED


def test_a_broken_drawing_is_told_with_its_place(folder: Path) -> None:
    (folder / "seed.svg").write_text("leaf", "utf-8")
    done = evenmark(folder, "start", "seed.svg")
    assert done.returncode == 1
    assert "seed.svg" in done.stderr
    assert "Traceback" not in done.stderr


def test_a_picture_is_told_to_be_one(folder: Path) -> None:
    (folder / "seed.png").write_bytes(b"\x89PNG")
    done = evenmark(folder, "start", "seed.png")
    assert done.returncode == 1
    assert "this is a picture of pixels; trace it, and save it as plain SVG" in done.stderr
