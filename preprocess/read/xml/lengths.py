"""Lengths of a drawing in the px of the place where they stand."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING

from preprocess.read.xml.calc import as_one_unit, calculated, is_calculated

if TYPE_CHECKING:
    from collections.abc import Mapping

NUMBER = r"[+-]?(?:\d*\.\d+|\d+)(?:[eE][+-]?\d+)?"
"""A number as SVG and CSS write it: "1", "-.5", "3e2"; "10." is none."""

_LENGTH = re.compile(rf"\s*({NUMBER})([a-zA-Z%]*)\s*\Z")
_PER_INCH = {"in": 1.0, "cm": 2.54, "mm": 25.4, "q": 101.6, "pt": 72.0, "pc": 6.0}

WidthHeight = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Units:
    """References of relative lengths.

    `box` is the nearest viewport in user units, `window` the outermost one in px; `font` and
    `root_font` are font sizes in px.
    """

    px_per_inch: float = 96.0
    box: WidthHeight = (0.0, 0.0)
    window: WidthHeight = (0.0, 0.0)
    font: float = 16.0
    root_font: float = 16.0

    def of(self, number: float, unit: str, axis: str = "") -> float | None:
        """A number and its unit in user units; None for an unknown unit.

        Args:
            number: the number.
            unit: in lower case; "" for none.
            axis: what a percentage refers to: "x", "y", or "" for the diagonal over √2.
        """
        if unit in {"", "px"}:
            return number
        if unit == "%":
            return number / 100 * self._whole(axis)
        if unit in _PER_INCH:
            return number * self.px_per_inch / _PER_INCH[unit]
        relative = {
            "em": self.font,
            "ex": self.font / 2,
            "ch": self.font / 2,
            "rem": self.root_font,
            "vw": self.window[0] / 100,
            "vh": self.window[1] / 100,
            "vmin": min(self.window) / 100,
            "vmax": max(self.window) / 100,
        }
        return number * relative[unit] if unit in relative else None

    def length(self, text: str | None, axis: str = "", default: float = 0.0) -> float:
        """A length such as "2mm" or "10%" in user units; `default` when it is none."""
        value = self._value(text, axis) if text else None
        return default if value is None or not math.isfinite(value) else value

    def _value(self, text: str, axis: str) -> float | None:
        if is_calculated(text):
            found = calculated(text, lambda number, unit: self.of(number, unit, axis))
            return found and found.value
        split = split_length(text)
        return self.of(*split, axis) if split else None

    def box_of(
        self, attributes: Mapping[str, str], default: Mapping[str, str] | None = None
    ) -> tuple[float, float, float, float]:
        """The attributes x, y, width and height in user units."""
        texts = {**(default or {}), **attributes}
        x, y = self.length(texts.get("x"), "x"), self.length(texts.get("y"), "y")
        return x, y, self.length(texts.get("width"), "x"), self.length(texts.get("height"), "y")

    def within(self, box: WidthHeight) -> Units:
        """The same units within another viewport or box of reference."""
        return replace(self, box=box)

    def _whole(self, axis: str) -> float:
        width, height = self.box
        if axis == "x":
            return width
        return height if axis == "y" else math.hypot(width, height) / math.sqrt(2)


@lru_cache(4096)
def split_length(text: str) -> tuple[float, str] | None:
    """Number and unit (lower case) of a length; None for any other text.

    None as well for a calculated length of several units, which depends on where it stands.
    """
    if is_calculated(text):
        return as_one_unit(text)
    match = _LENGTH.match(text)
    return (float(match[1]), match[2].lower()) if match else None


@lru_cache(4096)
def is_length(text: str) -> bool:
    """Test whether a length, percentage or number can be read."""
    if is_calculated(text):
        return calculated(text, Units().of) is not None
    split = split_length(text)
    return split is not None and Units().of(*split) is not None


def split_list(text: str) -> list[str]:
    """Values between white space or commas; what stands in brackets stays together."""
    if "(" not in text:
        return [part for part in re.split(r"\s*,\s*|\s+", text.strip()) if part]
    parts, depth = [""], 0
    for sign in text:
        depth += (sign == "(") - (sign == ")")
        if depth <= 0 and (sign == "," or sign.isspace()):
            parts.append("")
        else:
            parts[-1] += sign
    return [part for part in parts if part]


@lru_cache(4096)
def parse_number_list(text: str) -> tuple[float, ...] | None:
    """Numbers separated by white space or commas; None for any other text."""
    found = re.split(r"\s*,\s*|\s+", text.strip()) if text.strip() else []
    if not all(re.fullmatch(NUMBER, part) for part in found):
        return None
    return tuple(map(float, found))
