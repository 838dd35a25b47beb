"""Declared values back to plain data, with units: what YAML would hold for them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from preprocess.loading.schema.kinds import (
    Choice,
    Either,
    Fixed,
    Items,
    Kind,
    Measure,
    Record,
    Table,
    keys_of,
)
from preprocess.model.declared import Declared


def plain(value: Declared) -> dict[str, Any]:
    """A declared value as keys and texts, defaults included.

    What is not known is left out, and so is what is off unless somebody puts it on.
    """
    found: dict[str, Any] = {}
    for key in keys_of(type(value)):
        inner = getattr(value, key.field)
        is_off = inner is False and key.default is False
        if inner is not None and not is_off:
            found[key.name] = plain_of(key.kind, inner)
    return found


def plain_of(kind: Kind, value: Any) -> Any:
    """A value of some kind as plain data."""
    match kind:
        case Measure(quantity):
            return quantity.text(value)
        case Choice():
            return str(value)
        case Record():
            return plain(value)
        case Items(item):
            return [plain_of(item, inner) for inner in value]
        case Fixed(items):
            return [plain_of(item, inner) for item, inner in zip(items, value, strict=True)]
        case Table(key, inner):
            return {plain_of(key, k): plain_of(inner, v) for k, v in value.items()}
        case Either(kinds):
            return plain_of(next(member for member in kinds if _is(member, value)), value)
    return value


def declared_in(
    value: Any, path: tuple[str | int, ...] = ()
) -> Iterator[tuple[tuple[str | int, ...], Declared]]:
    """Every declared value inside a value, with its path of YAML keys."""
    if isinstance(value, Declared):
        yield path, value
        for key in keys_of(type(value)):
            yield from declared_in(getattr(value, key.field), (*path, key.name))
    elif isinstance(value, tuple):
        for number, inner in enumerate(value):
            yield from declared_in(inner, (*path, number))
    elif isinstance(value, Mapping):
        for name, inner in value.items():
            yield from declared_in(inner, (*path, str(name)))


def _is(kind: Kind, value: Any) -> bool:
    if isinstance(kind, Record):
        return isinstance(value, kind.cls)
    if isinstance(kind, Items | Fixed):
        return isinstance(value, tuple)
    return not isinstance(value, Declared | tuple) and isinstance(value, Mapping) == isinstance(
        kind, Table
    )
