"""Lengths and numbers that are calculated: `calc()`, `min()`, `max()`, `clamp()`.

Source: CSS Values and Units 4, chapter 10. Sums want spaces around their sign, and operands of one
kind; a product wants a plain number on one side, a quotient on the right.
"""

from __future__ import annotations

import math
import re
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

from tinycss2 import parse_one_component_value

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from tinycss2.ast import Node

_FUNCTIONS = re.compile(r"\s*(?:calc|min|max|clamp)\(", re.IGNORECASE)
_CONSTANTS = {"e": math.e, "pi": math.pi}
_LONGEST = 4096
_DEEPEST = 32
_BOUNDS = 3
_BLANK = {"whitespace", "comment"}


class Calculated(NamedTuple):
    """A value, and whether it is a plain number and no length or percentage."""

    value: float
    is_number: bool


def is_calculated(text: str) -> bool:
    """Test whether a value is a mathematical function."""
    return _FUNCTIONS.match(text) is not None


def calculated(text: str, of: Callable[[float, str], float | None]) -> Calculated | None:
    """What a mathematical function comes to; None for one that is wrong or has no finite value.

    Args:
        text: the whole value.
        of: turns a number and its unit ("%" or lower case) into one common unit, or None.
    """
    if len(text) > _LONGEST or text.count("(") > _DEEPEST:
        return None
    token = parse_one_component_value(text, skip_comments=True)
    found = _function(token, of) if token.type == "function" else None
    return found if found is not None and math.isfinite(found.value) else None


@lru_cache(1024)
def as_one_unit(text: str) -> tuple[float, str] | None:
    """Number and unit of a function whose lengths all have the same unit; None for others."""
    units: set[str] = set()

    def same(number: float, unit: str) -> float:
        units.add(unit)
        return number

    found = calculated(text, same)
    if found is None or len(units) > 1:
        return None
    return found.value, "" if found.is_number else units.pop()


def _function(token: Node, of: Callable[[float, str], float | None]) -> Calculated | None:
    given = [_sum(part, of) for part in _by_comma(token.arguments)]
    values = [one for one in given if one is not None]
    if len(values) < len(given) or len({one.is_number for one in values}) != 1:
        return None
    numbers, kind = [one.value for one in values], values[0].is_number
    match token.lower_name:
        case "calc" if len(numbers) == 1:
            return Calculated(numbers[0], kind)
        case "min":
            return Calculated(min(numbers), kind)
        case "max":
            return Calculated(max(numbers), kind)
        case "clamp" if len(numbers) == _BOUNDS:
            low, value, high = numbers
            return Calculated(max(low, min(value, high)), kind)
    return None


def _by_comma(tokens: Sequence[Node]) -> list[list[Node]]:
    found: list[list[Node]] = [[]]
    for token in tokens:
        if token.type == "literal" and token.value == ",":
            found.append([])
        else:
            found[-1].append(token)
    return found


def _sum(tokens: Sequence[Node], of: Callable[[float, str], float | None]) -> Calculated | None:
    terms: list[list[Node]] = [[]]
    signs = [1.0]
    for before, token, after in zip([None, *tokens], tokens, [*tokens[1:], None], strict=False):
        if token.type == "literal" and token.value in {"+", "-"}:
            if before is None or after is None or {before.type, after.type} - _BLANK:
                return None
            terms.append([])
            signs.append(1.0 if token.value == "+" else -1.0)
        else:
            terms[-1].append(token)
    given = [_product([one for one in term if one.type not in _BLANK], of) for term in terms]
    values = [one for one in given if one is not None]
    if len(values) < len(given) or len({one.is_number for one in values}) != 1:
        return None
    total = math.fsum(sign * one.value for sign, one in zip(signs, values, strict=True))
    return Calculated(total, values[0].is_number)


def _product(tokens: Sequence[Node], of: Callable[[float, str], float | None]) -> Calculated | None:
    if len(tokens) % 2 == 0:
        return None
    found = _single(tokens[0], of)
    for sign, token in zip(tokens[1::2], tokens[2::2], strict=True):
        other = _single(token, of)
        if found is None or other is None or sign.type != "literal":
            return None
        if sign.value == "*" and (found.is_number or other.is_number):
            found = Calculated(found.value * other.value, found.is_number and other.is_number)
        elif sign.value == "/" and other.is_number and other.value:
            found = Calculated(found.value / other.value, found.is_number)
        else:
            return None
    return found


def _single(token: Node, of: Callable[[float, str], float | None]) -> Calculated | None:
    match token.type:
        case "number":
            return Calculated(float(token.value), is_number=True)
        case "percentage":
            return _length(of(float(token.value), "%"))
        case "dimension":
            return _length(of(float(token.value), token.lower_unit))
        case "ident" if token.lower_value in _CONSTANTS:
            return Calculated(_CONSTANTS[token.lower_value], is_number=True)
        case "() block":
            return _sum(token.content, of)
        case "function":
            return _function(token, of)
    return None


def _length(value: float | None) -> Calculated | None:
    return None if value is None else Calculated(value, is_number=False)
