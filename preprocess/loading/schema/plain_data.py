"""Declared values as plain data, with units: what YAML would hold for them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from preprocess.loading.schema.value_types import (
    ChoiceType,
    ListType,
    QuantityType,
    RecordType,
    TableType,
    TupleType,
    UnionType,
    ValueType,
    declared_keys,
)
from preprocess.model.declared import Declared


def plain_data(value: Declared) -> dict[str, Any]:
    """A declared value as keys and texts, defaults included.

    Values that are None are left out, and so is what is false by default.
    """
    found: dict[str, Any] = {}
    for key in declared_keys(type(value)):
        inner = getattr(value, key.field)
        if inner is not None and not (inner is False and key.default is False):
            found[key.name] = plain_value(key.type, inner)
    return found | free_values(value)


def free_values(value: Declared) -> dict[str, str]:
    """The values of keys that are not declared, by name."""
    return dict(getattr(value, value.free)) if value.free else {}


def plain_value(of: ValueType, value: Any) -> Any:
    """A value of some type as plain data."""
    match of:
        case QuantityType(quantity):
            return quantity.text(value)
        case ChoiceType():
            return str(value)
        case RecordType():
            return plain_data(value)
        case ListType(entry):
            return [plain_value(entry, inner) for inner in value]
        case TupleType(entries):
            return [plain_value(entry, inner) for entry, inner in zip(entries, value, strict=True)]
        case TableType(key, inner):
            return {plain_value(key, k): plain_value(inner, v) for k, v in value.items()}
        case UnionType(members) if member := member_for(members, value):
            return plain_value(member, value)
    return value


def nested_declared(
    value: Any, path: tuple[str | int, ...] = ()
) -> Iterator[tuple[tuple[str | int, ...], Declared]]:
    """Every declared value inside a value, with its path of YAML keys."""
    inner: Any = ()
    if isinstance(value, Declared):
        yield path, value
        inner = ((key.name, getattr(value, key.field)) for key in declared_keys(type(value)))
    elif isinstance(value, tuple):
        inner = enumerate(value)
    elif isinstance(value, Mapping):
        inner = ((str(name), held) for name, held in value.items())
    for step, held in inner:
        yield from nested_declared(held, (*path, step))


def shape_of(of: ValueType) -> type:
    """The shape that values of a type have in YAML: `dict`, `list`, or `str` for single ones."""
    if isinstance(of, RecordType | TableType):
        return dict
    return list if isinstance(of, ListType | TupleType) else str


def member_for(members: tuple[ValueType, ...], value: Any) -> ValueType | None:
    """The member of a union whose shape a value has, be it typed or plain."""
    shape: type = list if isinstance(value, list | tuple) else str
    shape = dict if isinstance(value, Declared | Mapping) else shape
    return next((member for member in members if shape_of(member) is shape), None)
