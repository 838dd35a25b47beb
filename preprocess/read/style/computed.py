"""Computed style: inheritance, wide keywords, var(), and sizes that depend on the font."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, TypeVar

from preprocess.read.style.properties import INHERITED_PROPERTIES, PROPERTIES, dash_parts, is_valid
from preprocess.read.xml.calc import calculated, is_calculated
from preprocess.read.xml.lengths import NUMBER, Units, split_length
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

_FONT_WORDS = {
    "xx-small": 9.0,
    "x-small": 10.0,
    "small": 13.0,
    "medium": 16.0,
    "large": 18.0,
    "x-large": 24.0,
    "xx-large": 32.0,
}
_FONT_STEPS = {"smaller": 1 / 1.2, "larger": 1.2}
_FONT_UNITS = frozenset({"em", "ex", "ch"})
_IN_FONT_UNITS = re.compile(rf"{NUMBER}(?:em|ex|ch)\b", re.IGNORECASE)
_MEASURED = (
    "stroke-width",
    "stroke-dashoffset",
    "stroke-dasharray",
    "letter-spacing",
    "word-spacing",
)
_BOLDER = ((350, "400"), (550, "700"), (900, "900"))
_LIGHTER = ((100, ""), (550, "100"), (750, "400"), (1001, "700"))
_DEEPEST_VAR = 16
_MOST_VAR = 65536


_T = TypeVar("_T")


@dataclass(frozen=True, slots=True)
class Style:
    """Computed values of one element; its children inherit those in `passed`.

    `kept` holds what was worked out from it, for all that share it.
    """

    passed: Mapping[str, str] = field(default_factory=dict)
    own: Mapping[str, str] = field(default_factory=dict)
    kept: dict[Any, Any] = field(default_factory=dict, compare=False, repr=False)

    def once(self, work: Callable[[Style], _T]) -> _T:
        """Result of `work` for this style, computed once."""
        if work not in self.kept:
            self.kept[work] = work(self)
        found: _T = self.kept[work]
        return found

    def __call__(self, name: str) -> str:
        """The computed value of a property."""
        value = self.own.get(name)
        if value is None:
            value = self.passed.get(name)
        return PROPERTIES[name].initial if value is None else value

    @property
    def font(self) -> float:
        """Font size in px."""
        return float(self.passed.get("font-size", "16"))

    @property
    def weight(self) -> float:
        """Font weight from 1 to 1000; 400 is normal, 700 bold."""
        text = self("font-weight").lower()
        return {"normal": 400.0, "bold": 700.0}.get(text) or float(text)


def compute_style(declared: Mapping[str, str], parent: Style, units: Units) -> Style:
    """The style of an element from its declarations and the style of its parent."""
    if not declared:
        return Style(parent.passed)
    passed = dict(parent.passed)
    passed |= {name: value for name, value in declared.items() if name.startswith("--")}
    own: dict[str, str] = {}
    for name, text in declared.items():
        if name.startswith("--"):
            continue
        target = passed if name in INHERITED_PROPERTIES else own
        value = resolve_value(name, text, parent, passed)
        if value is None:
            target.pop(name, None)
        else:
            target[name] = value
    _set_font(declared, passed, parent, units)
    if passed.get("font-weight", "").lower() in {"bolder", "lighter"}:
        passed["font-weight"] = _next_weight(passed["font-weight"].lower(), parent.weight)
    return Style(passed, own)


def _next_weight(word: str, weight: float) -> str:
    """The weight that is bolder or lighter than that of the parent. Source: CSS Fonts 4, 2.2."""
    steps = _BOLDER if word == "bolder" else _LIGHTER
    return next((to for below, to in steps if weight < below), "") or digits(weight)


def resolve_value(name: str, text: str, parent: Style, custom: Mapping[str, str]) -> str | None:
    """The value to hold; None for the initial one."""
    if "var(" in text:
        filled = _filled(text, custom, _DEEPEST_VAR)
        valid = filled is not None and is_valid(name, filled, css=True)
        text = filled if valid and filled is not None else "unset"
    word = text.lower()
    if word == "inherit" or (
        word in {"unset", "revert", "revert-layer"} and name in INHERITED_PROPERTIES
    ):
        return parent(name) if name != "font-size" else parent.passed.get(name)
    return None if word in {"initial", "unset", "revert", "revert-layer"} else text


_INNER_VAR = re.compile(r"var\(\s*(--[^\s,()]+)\s*(?:,([^()]*(?:\([^()]*\)[^()]*)*))?\)")


def _filled(text: str, custom: Mapping[str, str], depth: int) -> str | None:
    """Replace var(); None when a variable is missing, or refers to itself."""
    while match := _INNER_VAR.search(text):
        value: str | None = custom.get(match[1], match[2])
        if value is None or depth == 0 or len(text) > _MOST_VAR:
            return None
        text = f"{text[: match.start()]}{value.strip()}{text[match.end() :]}"
        depth -= 1
    return text.strip() if "var(" not in text else None


def _set_font(
    declared: Mapping[str, str], passed: dict[str, str], parent: Style, units: Units
) -> None:
    if "font-size" in declared:
        text = passed.get("font-size", "medium")
        size = _font_size(text, parent.font, units)
        usable = size is not None and 0 <= size < math.inf
        passed["font-size"] = repr(size if usable else parent.font)
    if any(name in declared for name in _MEASURED):
        own = Units(font=float(passed.get("font-size", "16")))
        for name in _MEASURED:
            if name in declared and name in passed:
                passed[name] = _fixed(passed[name], own)


def _font_size(text: str, parent: float, units: Units) -> float | None:
    word = text.lower()
    if word in _FONT_WORDS:
        return _FONT_WORDS[word]
    if word in _FONT_STEPS:
        return parent * _FONT_STEPS[word]

    def of(number: float, unit: str) -> float | None:
        return parent * number / 100 if unit == "%" else units.of(number, unit)

    if is_calculated(text):
        found = calculated(text, of)
        return found and max(0.0, found.value)
    split = split_length(text)
    return of(*split) if split else None


def _fixed(text: str, units: Units) -> str:
    """Lengths that depend on the font become numbers: children inherit the computed length."""
    parts = []
    for part in dash_parts(text):
        split = split_length(part)
        if is_calculated(part):
            parts.append(_IN_FONT_UNITS.sub(lambda m: f"{units.length(m[0])!r}px", part))
        elif split and split[1] in _FONT_UNITS:
            parts.append(repr(units.of(*split)))
        else:
            parts.append(part)
    return " ".join(parts)
