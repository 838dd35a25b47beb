"""The page docs/project/map.md: every room and every module with its opening sentence."""

from __future__ import annotations

import ast
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path

_HEAD = """\
# Map

Every room of `preprocess`, in alphabetical order, and the opening sentence of each module in it.
Made from the code by `python -m tests.fresh_docs --write`.
"""


def page(root: Path) -> str:
    """The page, from the modules below `root`/preprocess."""
    package = root / "preprocess"
    rooms = sorted(path.parent for path in package.rglob("__init__.py"))
    return "\n".join([_HEAD, *(_room(room, root) for room in rooms)])


def _room(room: Path, root: Path) -> str:
    modules = sorted(path for path in room.glob("*.py") if not path.name.startswith("__"))
    lines = [f"## {room.relative_to(root).as_posix()}", "", opening(room / "__init__.py")]
    if modules:
        lines += ["", "| module | what it is |", "|---|---|"]
        lines += [f"| `{path.stem}` | {opening(path)} |" for path in modules]
    return "\n".join([*lines, ""])


def opening(path: Path) -> str:
    """The first sentence of a module's docstring, on one line."""
    text = ast.get_docstring(ast.parse(path.read_text("utf-8"))) or ""
    return " ".join(text.split("\n\n")[0].split()).replace("|", "\\|")
