"""Values of a recipe that the command sets: `--set settings.engrave.power=50%`."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from preprocess.errors import Place, UserError, wrong
from preprocess.loading.schema.value_complaints import nearest_word
from preprocess.loading.yaml.yaml_document import KeyPath, load_yaml, parse_yaml
from preprocess.recipe.extended import RecipeDocument

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

_EXAMPLE = "write KEY=VALUE, such as settings.engrave.power=50%"
_APART = "machine", "filament"
"""Keys that may name a file; a value inside goes into a copy of it."""


def with_changes(held: RecipeDocument, changes: Sequence[str], folder: Path) -> RecipeDocument:
    """Set values of a recipe; they are checked like all others.

    Keys are joined by dots. An entry of a list goes by its name, or by its number from 1:
    ``layers.veins.operation``, ``passes.inset-tips.by``, ``passes.2.by``.

    Args:
        held: the recipe, with those that it builds on.
        changes: texts such as ``settings.engrave.power=50%``; the last of two alike holds.
        folder: where the files that the recipe names are found.

    Raises:
        UserError: a text is no KEY=VALUE, its value is no YAML, or it leads through no mapping.
    """
    for change in changes:
        held = _with_change(held, change, folder)
    return held


def _with_change(held: RecipeDocument, change: str, folder: Path) -> RecipeDocument:
    place = Place(f"--set {change}")
    name, equals, text = change.partition("=")
    keys = [key.strip() for key in name.split(".")]
    if not equals or not all(keys):
        raise wrong("no value is set here", _EXAMPLE, place=place)
    value = _value(text.strip(), place)
    if keys[0] in _APART and len(keys) > 1:
        held = _written_out(held, keys[0], folder)
    document = held.document
    data, path = _put(document.data, keys, value, (), place)
    kept = {p: at for p, at in document.values.items() if p[: len(path)] != path}
    changed = replace(
        document,
        data=data,
        keys={**document.keys, path: place},
        values={**kept, path: place},
    )
    return replace(held, document=changed)


def _value(text: str, place: Place) -> Any:
    """A value as YAML would read it after its key; a # is part of it."""
    if not text:
        raise wrong("no value is set here", _EXAMPLE, place=place)
    if text.startswith("#"):
        return text
    try:
        return parse_yaml(f"value: {text}", place.file).data["value"]
    except UserError as error:
        first = error.complaints[0]
        raise wrong(first.found, first.remedy, place=place) from None


def _written_out(held: RecipeDocument, key: str, folder: Path) -> RecipeDocument:
    """The recipe with the file that it names under a key written out in its place."""
    document = held.document
    named = document.data.get(key)
    if not isinstance(named, str):
        return held
    inner = load_yaml(folder / named, place=document.at((key,)))
    merged = replace(
        document,
        data={**document.data, key: inner.data},
        lines={**inner.lines, **document.lines},
        keys={**document.keys, **{(key, *path): at for path, at in inner.keys.items()}},
        values={**document.values, **{(key, *path): at for path, at in inner.values.items()}},
    )
    return RecipeDocument(merged, (*held.files, folder / named))


def _put(
    data: Any, keys: Sequence[str], value: Any, path: KeyPath, place: Place
) -> tuple[Any, KeyPath]:
    """A copy of the data with one value set, and the path of that value."""
    key, *rest = keys
    if isinstance(data, list):
        return _put_in_list(data, keys, value, path, place)
    if data is None:
        data = {}
    if not isinstance(data, dict):
        found = f"{path[-1]} is {data!r}, and has no keys of its own"
        raise wrong(found, f"set {'.'.join(map(str, path))} itself", place=place)
    if not rest:
        return {**data, key: value}, (*path, key)
    inner, where = _put(data.get(key), rest, value, (*path, key), place)
    return {**data, key: inner}, where


def _put_in_list(
    data: list[Any], keys: Sequence[str], value: Any, path: KeyPath, place: Place
) -> tuple[Any, KeyPath]:
    key, *rest = keys
    number = _number(data, key, place)
    entry, here = data[number], (*path, number)
    if not rest:
        changed, where = value, here
    elif isinstance(entry, str) or _is_step(entry, key):
        step = entry if isinstance(entry, str) else next(iter(entry))
        held = None if isinstance(entry, str) else entry[step]
        inner, where = _put(held, rest, value, (*here, step), place)
        changed = {step: inner}
    else:
        changed, where = _put(entry, rest, value, here, place)
    return [*data[:number], changed, *data[number + 1 :]], where


def _is_step(entry: Any, key: str) -> bool:
    """Test whether an entry is a name with what belongs to it, as a step of `passes:` is."""
    return isinstance(entry, dict) and len(entry) == 1 and (key in entry or key.isdecimal())


def _number(data: list[Any], key: str, place: Place) -> int:
    """Place of a list's entry, from 0, by its name or its number from 1."""
    if key.isdecimal() and 1 <= int(key) <= len(data):
        return int(key) - 1
    names = [_name(entry) for entry in data]
    if names.count(key) == 1:
        return names.index(key)
    if key in names:
        numbers = " or ".join(str(n) for n, name in enumerate(names, 1) if name == key)
        found = f"{names.count(key)} entries are called {key!r}"
        raise wrong(found, f"name one by its number: {numbers}", place=place)
    known = [name for name in names if name]
    remedy = nearest_word(key, known, "its entries are") if known else "give its number, from 1"
    raise wrong(f"the list has no entry {key!r}", remedy, place=place)


def _name(entry: Any) -> str:
    if isinstance(entry, dict):
        return str(entry.get("name") or (next(iter(entry), "") if len(entry) == 1 else ""))
    return entry if isinstance(entry, str) else ""
