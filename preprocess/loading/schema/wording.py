"""Kinds of values in words: for messages, for help and for the generated pages."""

from __future__ import annotations

from typing import TYPE_CHECKING

from annotated_types import Ge, Gt, Lt

from preprocess.loading.schema.kinds import (
    Anything,
    Bound,
    Choice,
    Either,
    Fixed,
    Flag,
    Items,
    Kind,
    Measure,
    Number,
    Record,
    Table,
    keys_of,
)

if TYPE_CHECKING:
    from preprocess.model.declared import Declared

_LONGEST = 40
_MOST_KEYS = 6


def words(kind: Kind) -> str:
    """What a kind takes, such as "length" or "one of one-way, two-way"."""
    match kind:
        case Record(cls):
            names = [key.name for key in keys_of(cls)]
            more = ["…"] if len(names) > _MOST_KEYS else []
            return "{" + ", ".join(names[:_MOST_KEYS] + more) + "}"
        case Items(item):
            return f"list, each entry {with_article(words(item))}"
        case Fixed(items):
            return "[" + ", ".join(words(item) for item in items) + "]"
        case Table(key, value):
            return f"{words(key)}: {words(value)}"
        case Either(kinds):
            return ", or ".join(words(member) for member in kinds)
    return _single(kind)


def _single(kind: Kind) -> str:
    match kind:
        case Measure(quantity):
            return quantity.name
        case Number(whole):
            return "whole number" if whole else "number"
        case Choice(choices):
            return "one of " + ", ".join(choices)
        case Flag():
            return "true or false"
    return "anything" if isinstance(kind, Anything) else "text"


def example(kind: Kind) -> str:
    """A value that the kind takes, as one writes it."""
    match kind:
        case Record(cls):
            return "{" + ", ".join(_example_keys(cls)) + "}"
        case Items(item):
            return f"[{example(item)}]"
        case Fixed(items):
            return "[" + ", ".join(example(item) for item in items) + "]"
        case Table(key, value):
            return f"{{{example(key)}: {example(value)}}}"
        case Either(kinds):
            return example(kinds[0])
    return _single_example(kind)


def _single_example(kind: Kind) -> str:
    match kind:
        case Measure(quantity):
            return quantity.example
        case Number(whole):
            return "1" if whole else "1.5"
        case Choice(choices):
            return str(next(iter(choices)))
    return {Flag: "true", Anything: "…"}.get(type(kind), "'text'")


def _example_keys(cls: type[Declared]) -> list[str]:
    """The keys that must be given, or the first when none must."""
    keys = keys_of(cls)
    shown_keys = [key for key in keys if key.required] or list(keys[:1])
    return [f"{key.name}: {example(key.kind)}" for key in shown_keys]


def bounds_of(kind: Kind) -> str:
    """The bounds in words with their unit, such as "above 0 % and at most 100 %"; else empty."""
    match kind:
        case Measure(quantity, bounds):
            return " and ".join(_bound(bound, quantity.text(_limit(bound))) for bound in bounds)
        case Number(_, bounds):
            return " and ".join(_bound(bound, f"{_limit(bound):g}") for bound in bounds)
        case Items(item):
            return bounds_of(item)
        case Fixed(items) | Either(items):
            return next(filter(None, map(bounds_of, items)), "")
    return ""


def within(value: float, bounds: tuple[Bound, ...]) -> bool:
    """Whether a number is inside its bounds."""
    return all(_holds(bound, value) for bound in bounds)


def shown(value: object) -> str:
    """What stands in the file, for a message."""
    if isinstance(value, dict):
        return "a mapping"
    if isinstance(value, list):
        return "a list"
    if isinstance(value, str):
        return repr(value if len(value) <= _LONGEST else value[: _LONGEST - 1] + "…")
    return {True: "true", False: "false"}[value] if isinstance(value, bool) else str(value)


def with_article(noun: str) -> str:
    """The noun with "a" or "an"; nothing before a bracket or "one of"."""
    if not noun[:1].isalpha() or noun.startswith(("one of", "true", "anything", "list")):
        return noun
    return f"{'an' if noun[0] in 'aeiou' else 'a'} {noun}"


def _limit(bound: Bound) -> float:
    limits = (getattr(bound, name, None) for name in ("gt", "ge", "lt", "le"))
    return float(next(limit for limit in limits if limit is not None))


def _bound(bound: Bound, limit: str) -> str:
    phrases = {Gt: "above", Ge: "at least", Lt: "below"}
    return f"{phrases.get(type(bound), 'at most')} {limit}"


def _holds(bound: Bound, value: float) -> bool:
    limit = _limit(bound)
    if isinstance(bound, Gt):
        return value > limit
    if isinstance(bound, Ge):
        return value >= limit
    return value < limit if isinstance(bound, Lt) else value <= limit
