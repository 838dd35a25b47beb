"""Recipes that build on another: `extends:` names it, and what is written here comes first."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from preprocess.errors import wrong
from preprocess.loading.yaml.text_files import path_exists, read_text, relative_path
from preprocess.loading.yaml.yaml_document import KeyPath, YamlDocument, parse_yaml

if TYPE_CHECKING:
    from pathlib import Path

    from preprocess.errors import Place

EXTENDS = "extends"

_FILES: tuple[KeyPath, ...] = (("design",), ("machine",), ("filament",), ("fonts", "folder"))
"""Keys that may name a file; it is found from the recipe that names it."""


@dataclass(frozen=True, slots=True)
class RecipeDocument:
    """The values of a recipe with those of every recipe below it, and the files they came from."""

    document: YamlDocument
    files: tuple[Path, ...] = ()


def with_base(document: YamlDocument, path: Path | None, folder: Path) -> RecipeDocument:
    """Lay a recipe over the one that it extends, if it extends one.

    Mappings are joined key by key, at any depth; a list or a single value stands in place of the
    one below.

    Args:
        document: the recipe.
        path: its file; None when it came through a pipe.
        folder: where the files that it names are found.

    Raises:
        UserError: the other recipe cannot be read, or the recipes extend one another in a circle.
    """
    seen = (path.resolve(),) if path else ()
    return _joined(document, folder, seen)


def _joined(document: YamlDocument, folder: Path, seen: tuple[Path, ...]) -> RecipeDocument:
    named = document.data.get(EXTENDS)
    if EXTENDS not in document.data:
        return RecipeDocument(document)
    place = document.at((EXTENDS,))
    if not isinstance(named, str) or not named:
        raise wrong("extends names no recipe", "write extends: base.yaml", place=place)
    below = folder / named
    if below.resolve() in seen:
        found = f"{named} extends this recipe in its turn, so neither comes first"
        raise wrong(found, "take extends out of one of them", place=place)
    _expect_format(document)
    lower = _read(below, place)
    base = _joined(lower, below.parent, (*seen, below.resolve()))
    moved = _moved(base.document, below.parent, folder)
    return RecipeDocument(_laid_over(document, moved), (below, *base.files))


def _read(path: Path, place: Place) -> YamlDocument:
    return parse_yaml(read_text(path, place=place), str(path))


def _expect_format(document: YamlDocument) -> None:
    """The version is asked of each file: an editor checks each by itself."""
    if "recipe" not in document.data:
        raise wrong(
            "the file lacks the key 'recipe'",
            "add it, for example recipe: 1",
            place=document.at_key(()),
        )


def _moved(document: YamlDocument, folder: Path, to: Path) -> YamlDocument:
    """The document with the files that it names found from another folder."""
    if folder == to:
        return document
    data = document.data
    parts = data.get("part")
    several = range(len(parts)) if isinstance(parts, list) else ()
    models: list[KeyPath] = [("part", "model"), *(("part", n, "model") for n in several)]
    for path in (*_FILES, *models):
        held = _get(data, path)
        if isinstance(held, str) and (path == ("design",) or path_exists(folder / held)):
            data = _put(data, path, relative_path(folder / held, to))
    return replace(document, data=data)


def _get(data: Any, path: KeyPath) -> Any:
    for key in path:
        held = isinstance(data, list) if isinstance(key, int) else isinstance(data, dict)
        data = (data[key] if isinstance(key, int) else data.get(key)) if held else None
    return data


def _put(data: Any, path: KeyPath, value: Any) -> Any:
    key, *rest = path
    inner = _put(data[key], tuple(rest), value) if rest else value
    if isinstance(key, int):
        return [inner if number == key else held for number, held in enumerate(data)]
    return {**data, key: inner}


def _laid_over(upper: YamlDocument, lower: YamlDocument) -> YamlDocument:
    """The upper document's values where it has any, else the lower's, each with its place."""
    gone: list[KeyPath] = []
    data = _merged(upper.data, lower.data, (), gone)
    data.pop(EXTENDS, None)
    return replace(
        upper,
        data=data,
        lines={**lower.lines, **upper.lines},
        keys={**_without(lower.keys, gone), **upper.keys},
        values={**_without(lower.values, gone), **upper.values},
    )


def _merged(upper: Any, lower: Any, path: KeyPath, gone: list[KeyPath]) -> Any:
    if not (isinstance(upper, dict) and isinstance(lower, dict)):
        gone.append(path)
        return upper
    both = dict(lower)
    for key, held in upper.items():
        both[key] = _merged(held, lower[key], (*path, key), gone) if key in lower else held
    return both


def _without(places: Any, gone: list[KeyPath]) -> dict[KeyPath, Place]:
    return {
        path: place
        for path, place in places.items()
        if not any(path[: len(one)] == one for one in gone)
    }
