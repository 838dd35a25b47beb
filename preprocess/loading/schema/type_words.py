"""Types of values in words: for messages, for help and for the generated pages."""

from __future__ import annotations

import operator
from typing import TYPE_CHECKING, Any

from annotated_types import Ge, Gt, Le, Lt

from preprocess.loading.schema.plain_data import plain_value
from preprocess.loading.schema.value_types import (
    Bound,
    ChoiceType,
    DeclaredKey,
    ListType,
    NumberType,
    QuantityType,
    RecordType,
    SimpleType,
    TableType,
    TupleType,
    UnionType,
    ValueType,
    declared_keys,
)
from preprocess.units import digits, typed_digits

if TYPE_CHECKING:
    from collections.abc import Callable

_MOST_KEYS = 6

BOUNDS: dict[type[Bound], tuple[str, Callable[[Any, Any], bool], str]] = {
    Gt: ("gt", operator.gt, "above"),
    Ge: ("ge", operator.ge, "at least"),
    Lt: ("lt", operator.lt, "below"),
    Le: ("le", operator.le, "at most"),
}
"""Each bound: its attribute, its test and its words."""


def type_words(of: ValueType) -> str:
    """Values that a type takes, such as "length" or "one of one-way, two-way"."""
    match of:
        case RecordType(cls):
            names = [key.name for key in declared_keys(cls)]
            more = ["…"] if len(names) > _MOST_KEYS else []
            words = "{" + ", ".join(names[:_MOST_KEYS] + more) + "}"
        case ListType(entry):
            words = f"list, each entry {with_article(type_words(entry))}"
        case TupleType(entries):
            words = "[" + ", ".join(map(type_words, entries)) + "]"
        case TableType(key, value):
            words = f"{type_words(key)}: {type_words(value)}"
        case UnionType(members):
            words = ", or ".join(map(type_words, members))
        case QuantityType(quantity):
            words = quantity.name
        case NumberType(whole):
            words = "whole number" if whole else "number"
        case ChoiceType(choices):
            words = f"one of {', '.join(choices)}"
        case SimpleType():
            words = of.value
    return words


def example_of(of: ValueType) -> str:
    """A value that the type takes, as one writes it."""
    match of:
        case RecordType(cls):
            keys = declared_keys(cls)
            shown = [key for key in keys if key.required] or keys[:1]
            example = "{" + ", ".join(f"{key.name}: {example_of(key.type)}" for key in shown) + "}"
        case ListType(entry):
            example = f"[{example_of(entry)}]"
        case TupleType(entries):
            example = "[" + ", ".join(map(example_of, entries)) + "]"
        case TableType(key, value):
            example = f"{{{example_of(key)}: {example_of(value)}}}"
        case UnionType(members):
            example = example_of(members[0])
        case QuantityType(quantity):
            example = quantity.example
        case NumberType(whole):
            example = "1" if whole else "1.5"
        case ChoiceType(choices):
            example = next(iter(choices)).value
        case SimpleType():
            example = {"text": "'text'", "true or false": "true"}.get(of, "…")
    return example


def bounds_text(of: ValueType) -> str:
    """The bounds with their unit, such as "above 0 % and at most 100 %"; else empty."""
    match of:
        case QuantityType(quantity, bounds):
            return _joined(bounds, quantity.text)
        case NumberType(_, bounds):
            return _joined(bounds, digits)
        case ListType(entry):
            return bounds_text(entry)
        case TupleType(inner) | UnionType(inner):
            return next(filter(None, map(bounds_text, inner)), "")
    return ""


def accepted_values(key: DeclaredKey) -> str:
    """Values that a key takes, with its bounds."""
    return ", ".join(filter(None, (type_words(key.type), bounds_text(key.type))))


def default_text(key: DeclaredKey) -> str:
    """Value without the key: "required", "none", or its default as one writes it."""
    if key.required:
        return "required"
    if key.default is None or key.default in ((), {}):
        return "none"
    return _on_one_line(plain_value(key.type, key.default))


def limit_of(bound: Bound) -> float:
    """The figure of a bound."""
    limit: float = getattr(bound, BOUNDS[type(bound)][0])
    return limit


def with_article(noun: str) -> str:
    """The noun with "a" or "an"; nothing before a bracket or "one of"."""
    if not noun[:1].isalpha() or noun.startswith(("one of", "true", "anything", "list")):
        return noun
    return f"{'an' if noun[0] in 'aeiou' else 'a'} {noun}"


def _joined(bounds: tuple[Bound, ...], write: Callable[[float], str]) -> str:
    return " and ".join(f"{BOUNDS[type(bound)][2]} {write(limit_of(bound))}" for bound in bounds)


def _on_one_line(held: Any) -> str:
    if isinstance(held, dict):
        inner = ", ".join(f"{key}: {_on_one_line(value)}" for key, value in held.items())
        return f"{{{inner}}}" if held else "none"
    if isinstance(held, list):
        return "[" + ", ".join(map(_on_one_line, held)) + "]"
    if isinstance(held, bool):
        return str(held).lower()
    if isinstance(held, float):
        return typed_digits(held)
    return f"'{held}'" if "#" in str(held) else str(held)
