"""What the validation library met, as complaints with a place and in our own words."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from preprocess.errors import Complaint
from preprocess.loading.schema.checks import nearest, shape_of
from preprocess.loading.schema.kinds import Either, Fixed, Items, Kind, Record, Table, keys_of
from preprocess.loading.schema.wording import example
from preprocess.loading.yaml.syntax import hidden_by_hash

if TYPE_CHECKING:
    from collections.abc import Iterable

    from pydantic_core import ErrorDetails

    from preprocess.loading.yaml.document import Document, KeyPath
    from preprocess.model.declared import Declared

_TAGS = {"?map", "?list", "?one", "[key]"}


def complaints_of(
    errors: Iterable[ErrorDetails], document: Document, base: KeyPath, cls: type[Declared]
) -> list[tuple[KeyPath, Complaint]]:
    """One complaint for each error, with the path of the value that it is about."""
    found: list[tuple[KeyPath, Complaint]] = []
    for error in errors:
        path = (*base, *(step for step in error["loc"] if step not in _TAGS))
        found.append((path, _complaint(error, path, document, cls)))
    return found


def without_value(data: Any, document: Document, path: KeyPath) -> dict[KeyPath, Complaint]:
    """A complaint for each key or entry that has no value, by its path."""
    if data is None:
        return {path: _empty(document, path)}
    if isinstance(data, list):
        data = dict(enumerate(data))
    found: dict[KeyPath, Complaint] = {}
    for step, inner in data.items() if isinstance(data, dict) else ():
        found |= without_value(inner, document, (*path, step))
    return found


def label(path: KeyPath, document: Document) -> str:
    """The name of a value for a sentence: its key, and its number in a list."""
    if not path:
        return document.subject
    if isinstance(path[-1], int):
        return f"{label(path[:-1], document)}, entry {path[-1] + 1}"
    return path[-1]


def _complaint(
    error: ErrorDetails, path: KeyPath, document: Document, cls: type[Declared]
) -> Complaint:
    context = error.get("ctx", {})
    kind, owner = error["type"], _record_at(cls, error["loc"][:-1])
    if kind == "extra_forbidden" and path[-1] in owner.retired:
        found = f"the key {path[-1]!r} was taken away, because it did nothing"
        return Complaint(found, "delete the line", document.at_key(path))
    if kind == "extra_forbidden":
        remedy = nearest(path[-1], [key.name for key in keys_of(owner)], "known keys:")
        return Complaint(f"unknown key {path[-1]!r}", remedy, document.at_key(path))
    if kind == "missing":
        key = next(key for key in keys_of(owner) if key.name == path[-1])
        remedy = f"add it, for example {key.name}: {example(key.kind)}"
        found = f"{label(path[:-1], document)} lacks the key {key.name!r}"
        return Complaint(found, remedy, document.at_key(path[:-1]))
    if error["loc"][-1:] == ("[key]",):
        remedy = context.get("remedy", "")
        return Complaint(f"unknown key {path[-1]!r}", remedy, document.at_key(path))
    place = document.at(path)
    if kind == "refused":
        return Complaint(label(path, document) + context["found"], context["remedy"], place)
    said = context.get("error", error["msg"])
    return Complaint(f"{label(path, document)}: {said}", "", place)


def _empty(document: Document, path: KeyPath) -> Complaint:
    place = document.at_key(path)
    line = document.lines[place.line - 1] if place.line and document.lines else ""
    empty = f"{label(path, document)} has no value"
    if hidden := hidden_by_hash(line):
        found = f"{empty}, since the unquoted {hidden} starts a comment"
        return Complaint(found, f"quote it: '{hidden}'", place)
    return Complaint(empty, "give it one or delete it", place)


def _record_at(cls: type[Declared], loc: tuple[str | int, ...]) -> type[Declared]:
    """The class of the mapping at a location of the validation library."""
    kind: Kind = Record(cls)
    for step in loc:
        match kind:
            case Record(owner):
                kind = next(key.kind for key in keys_of(owner) if key.name == step)
            case Items(item):
                kind = item
            case Fixed(items):
                kind = items[int(step)]
            case Table(_, value):
                kind = value
            case Either(kinds):
                kind = next(member for member in kinds if shape_of(member) == step)
    return kind.cls if isinstance(kind, Record) else cls
