"""A folder is a room: it says what it is for, is not crowded, and its tests stand in its mirror."""

from __future__ import annotations

import ast
from collections import Counter
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "preprocess"
ROOMS = sorted(path.parent for path in PACKAGE.rglob("__init__.py"))
MODULES = sorted(path for path in PACKAGE.rglob("*.py") if not path.name.startswith("__"))
TESTS = sorted(
    path for path in (ROOT / "tests").rglob("test_*.py") if "sample_plugin" not in path.parts
)
LISTS = {"cli", "passes"}
"""Folders with a file to each command and to each pass: as long as they need be."""

OF_THE_WHOLE = {"architecture", "jobs", "second_simulator"}
"""Folders of tests/ that belong to no room."""

MOST_SHARED = 10
"""Public names that may stand in several modules."""


def docstring(path: Path) -> str:
    return ast.get_docstring(ast.parse(path.read_text("utf-8"))) or ""


@pytest.mark.parametrize("room", ROOMS, ids=lambda room: room.relative_to(ROOT).as_posix())
def test_a_room_says_in_a_sentence_what_it_is_for(room: Path) -> None:
    text = docstring(room / "__init__.py")
    assert text.endswith(".")
    assert "\n\n" not in text


@pytest.mark.parametrize("room", ROOMS, ids=lambda room: room.relative_to(ROOT).as_posix())
def test_a_room_holds_a_dozen_files_at_most(room: Path) -> None:
    files = [path for path in room.iterdir() if path.is_file() and path.name != "__init__.py"]
    assert len(files) <= 12 or room.name in LISTS


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.relative_to(ROOT).as_posix())
def test_a_module_opens_with_a_sentence(path: Path) -> None:
    assert docstring(path).split("\n\n")[0].rstrip().endswith((".", "!", "?"))


def test_public_names_mean_one_thing() -> None:
    counts: Counter[str] = Counter()
    for path in MODULES:
        counts.update(set(_public(ast.parse(path.read_text("utf-8")))))
    shared = sorted(name for name, count in counts.items() if count > 1)
    assert len(shared) <= MOST_SHARED, shared


def _public(tree: ast.Module) -> list[str]:
    names: list[str] = []
    for node in tree.body:
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            names.append(node.name)
        elif isinstance(node, ast.Assign):
            names += [target.id for target in node.targets if isinstance(target, ast.Name)]
        elif isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name):
            names.append(node.target.id)
    return [name for name in names if not name.startswith("_")]


@pytest.mark.parametrize("path", TESTS, ids=lambda path: path.relative_to(ROOT).as_posix())
def test_tests_mirror_the_rooms(path: Path) -> None:
    """A file of tests has a namesake in its room: a module, a folder, or the room itself."""
    folder = path.parent.relative_to(ROOT / "tests")
    if folder.parts and folder.parts[0] in OF_THE_WHOLE:
        return
    room = PACKAGE / folder
    assert room.is_dir(), f"there is no {room.relative_to(ROOT)}"
    known = {p.stem for p in room.iterdir() if p.suffix == ".py" or p.is_dir()} | {room.name}
    name = path.stem.removeprefix("test_")
    assert any(name == one or name.startswith(f"{one}_") for one in known), sorted(known)
