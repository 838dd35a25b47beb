"""Checks of single values; what they say is put after the name of the key."""

from __future__ import annotations

import math
from difflib import get_close_matches
from typing import TYPE_CHECKING, Any

from pydantic_core import PydanticCustomError

from preprocess.loading.schema.kinds import (
    Anything,
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
from preprocess.loading.schema.wording import bounds_of, example, shown, with_article, within, words
from preprocess.units import UnitError

if TYPE_CHECKING:
    from enum import StrEnum


def refuse(found: str, remedy: str = "") -> PydanticCustomError:
    """An error whose sentence goes on after the name of the key."""
    return PydanticCustomError("refused", "{found}; {remedy}", {"found": found, "remedy": remedy})


def shape(value: Any) -> str:
    """The shape by which the members of a union are told apart."""
    if isinstance(value, dict):
        return "?map"
    return "?list" if isinstance(value, list | tuple) else "?one"


def shape_of(kind: Kind) -> str:
    """The shape that values of a kind have in YAML."""
    if isinstance(kind, Record | Table):
        return "?map"
    return "?list" if isinstance(kind, Items | Fixed) else "?one"


def leaf(kind: Kind, value: Any) -> Any:
    """A single value of a kind without members.

    Raises:
        PydanticCustomError: it is another kind of value, or out of bounds.
    """
    match kind:
        case Measure():
            return _measure(kind, value)
        case Number():
            return _number(kind, value)
        case Choice(choices):
            return _choice(choices, value)
        case Flag():
            return _typed(value, isinstance(value, bool), "write true or false")
        case Anything():
            return value
    return _typed(value, isinstance(value, str), _as_text(value))


def expect_shape(kind: Kind, value: Any) -> Any:
    """Let a value pass whose shape and length fit the kind.

    Raises:
        PydanticCustomError: a list where a mapping is due, or the like.
    """
    kinds = kind.kinds if isinstance(kind, Either) else (kind,)
    if shape(value) not in {shape_of(member) for member in kinds}:
        raise refuse(f" is {shown(value)}", _wanted(kind))
    if isinstance(kind, Fixed) and len(value) != len(kind.items):
        raise refuse(f" holds {_count(len(value))}", _wanted(kind))
    if isinstance(kind, Items) and len(value) < kind.least:
        raise refuse(f" holds {_count(len(value))}", f"give at least {kind.least}")
    return value


def nearest(word: object, known: list[str], all_of_them: str) -> str:
    """The remedy for a word that is not known."""
    near = get_close_matches(str(word), known, n=1)
    return f"did you mean {near[0]}?" if near else f"{all_of_them} {', '.join(known)}"


def _measure(kind: Measure, value: Any) -> float:
    if isinstance(value, dict | list):
        raise refuse(f" is {shown(value)}", f"write for example {kind.quantity.example}")
    try:
        number = kind.quantity.parse(value)
    except UnitError as error:
        raise refuse(f": {error}") from None
    return _bounded(kind, number, str(value))


def _number(kind: Number, value: Any) -> float:
    fits = isinstance(value, int) or (isinstance(value, float) and not kind.whole)
    noun = with_article(words(kind))
    _typed(value, fits and not isinstance(value, bool), f"write {noun}")
    if not math.isfinite(value):
        raise refuse(f" is {value}", f"write {noun}")
    return _bounded(kind, value if kind.whole else float(value), str(value))


def _bounded(kind: Measure | Number, value: float, written: str) -> float:
    if not within(value, kind.bounds):
        raise refuse(f" is {written}", f"it must be {bounds_of(kind)}")
    return value


def _choice(choices: type[StrEnum], value: Any) -> StrEnum:
    known = [str(choice) for choice in choices]
    if not isinstance(value, str) or value not in known:
        raise refuse(f" is {shown(value)}", nearest(value, known, "write one of"))
    return choices(value)


def _typed(value: Any, fits: bool, remedy: str) -> Any:  # noqa: FBT001 - the answer of a test
    if not fits:
        raise refuse(f" is {shown(value)}", remedy)
    return value


def _as_text(value: Any) -> str:
    quoted = f": '{value}'" if not isinstance(value, dict | list) else ""
    return f"a text is due; write it in quotes{quoted}"


def _wanted(kind: Kind) -> str:
    match kind:
        case Record(cls):
            return f"it takes the keys {', '.join(key.name for key in keys_of(cls))}"
        case Table():
            return f"write a mapping such as {example(kind)}"
        case Fixed() | Items():
            return f"write a list such as {example(kind)}"
    return f"write {with_article(words(kind))}"


def _count(number: int) -> str:
    return "1 value" if number == 1 else f"{number} values"
