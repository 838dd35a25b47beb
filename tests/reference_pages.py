"""Generated reference pages: docs/reference/recipe.md and a page to each pass."""

from __future__ import annotations

import inspect
from typing import TYPE_CHECKING

from preprocess.engine import registry
from preprocess.errors import UserError
from preprocess.loading.schema.type_words import accepted_values, default_text
from preprocess.loading.schema.value_types import (
    DeclaredKey,
    ListType,
    RecordType,
    TableType,
    TupleType,
    UnionType,
    ValueType,
    declared_keys,
)
from preprocess.recipe.recipe_keys import Recipe
from preprocess.recipe.reference.pass_explanation import PassExplanation, explain_pass
from preprocess.units import QUANTITIES, Quantity

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from pathlib import Path

    from preprocess.model.declared import Declared

_MADE = "<!-- Made by `python -m tests.fresh_docs --write`; change the code instead. -->"

_INTRODUCTION = """A recipe is a YAML file. Each length, speed, share and time carries its unit;
unknown keys are refused. Names with a `#` are quoted, since a bare `#` starts a comment. Files
that a recipe names are found beside it. `evenmark schema` prints all this for an editor;
`--with NAME` adds a pass of another package, and runs that package's code."""

_HEADINGS = ("key", "takes", "default", "meaning")


def reference_pages(root: Path) -> dict[str, str]:
    """All generated pages by their path below `root`, where the fixtures lie too.

    A pass that cannot be loaded has no page.
    """
    made = {"docs/reference/recipe.md": _recipe_page()}
    for name in registry.pass_names():
        try:
            made[f"docs/reference/passes/{name}.md"] = _pass_page(explain_pass(name), root)
        except UserError:
            continue
    return made


def _pass_page(page: PassExplanation, root: Path) -> str:
    cases = _cases(root / "fixtures" / "passes" / page.name)
    example = _steps(cases[0]) if cases else ""
    blocks = [
        f"# {page.name}",
        _MADE,
        *page.paragraphs,
        *([f"![{page.name}, before and after](pictures/{page.name}.svg)"] if cases else []),
        "```yaml\n" + (example or "\n".join(page.example)) + "\n```",
        "## Parameters",
        _table(_HEADINGS, map(_row, page.parameters)),
        "## Order",
        "\n".join(f"- {sentence}" for sentence in page.order),
    ]
    if cases:
        blocks += ["## Cases", "\n".join(_case(case, root) for case in cases)]
    return "\n\n".join(blocks) + "\n"


def _cases(folder: Path) -> list[Path]:
    if not folder.is_dir():
        return []
    return sorted(case for case in folder.iterdir() if (case / "recipe.yaml").is_file())


def _case(case: Path, root: Path) -> str:
    notes = case / "notes.txt"
    lines = notes.read_text("utf-8").strip().splitlines() if notes.is_file() else []
    path = case.relative_to(root).as_posix()
    return f"- [{case.name}](../../../{path}/)" + (f": {lines[0]}" if lines else "")


def _steps(case: Path) -> str:
    """The lines of a case's recipe from `passes:` to the next key."""
    found: list[str] = []
    for line in (case / "recipe.yaml").read_text("utf-8").splitlines():
        if line.startswith("passes:"):
            found = [line]
        elif found and line[:1] not in {"", " ", "-", "#"}:
            break
        elif found:
            found.append(line)
    return "\n".join(found).rstrip()


def _recipe_page() -> str:
    blocks = ["# The recipe", _MADE, _INTRODUCTION]
    for cls, where in _classes(Recipe):
        doc = (inspect.getdoc(cls) or "").replace("\n", " ")
        heading = f"## `{where}`" if where else "## Keys"
        rows = [*map(_row, declared_keys(cls)), *([_FREE] if cls.free else [])]
        blocks += [heading, doc, _table(_HEADINGS, rows)]
    links = [
        f"- [{name}](passes/{name}.md): {registry.pass_summary(name)}"
        for name in registry.pass_names()
    ]
    blocks += ["## Passes", _PASSES, "\n".join(links)]
    blocks += ["## Units", _table(("quantity", "units"), map(_units, QUANTITIES))]
    return "\n\n".join(blocks) + "\n"


_PASSES = """Each step is the name of a pass, or its name with its parameters. All passes take
`only` and `except`. The order is proved before anything is done; an order that cannot work is
refused, never mended."""


def _classes(root: type[Declared]) -> Iterator[tuple[type[Declared], str]]:
    """Each declared class once, with the first place in the recipe that takes it."""
    seen: set[type[Declared]] = set()
    waiting: list[tuple[type[Declared], str]] = [(root, "")]
    while waiting:
        cls, where = waiting.pop(0)
        if cls in seen:
            continue
        seen.add(cls)
        yield cls, where
        for key in declared_keys(cls):
            here = f"{where}: {key.name}" if where else key.name
            waiting += [(inner, here) for inner in _records(key.type)]


def _records(of: ValueType) -> Iterator[type[Declared]]:
    match of:
        case RecordType(cls):
            yield cls
        case ListType(inner) | TableType(_, inner):
            yield from _records(inner)
        case TupleType(members) | UnionType(members):
            for member in members:
                yield from _records(member)


_FREE = ("other names", "text, number or switch", "none", "as the machine file declares them")


def _row(key: DeclaredKey) -> tuple[str, ...]:
    return f"`{key.name}`", accepted_values(key), default_text(key), key.doc


def _units(quantity: Quantity) -> tuple[str, ...]:
    return quantity.name, ", ".join(f"`{unit}`" for unit in quantity.unit_names)


def _table(headings: Iterable[str], rows: Iterable[tuple[str, ...]]) -> str:
    lines = [tuple(headings), ("---",) * len(tuple(headings)), *rows]
    return "\n".join(
        "| " + " | ".join(cell.replace("|", "\\|") for cell in row) + " |" for row in lines
    )
