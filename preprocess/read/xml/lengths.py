"""Lengths of a drawing in the px of the place where they stand."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import lru_cache

NUMBER = r"[+-]?(?:\d*\.\d+|\d+)(?:[eE][+-]?\d+)?"
"""A number as SVG and CSS write it: "1", "-.5", "3e2"; "10." is none."""

_LENGTH = re.compile(rf"\s*({NUMBER})([a-zA-Z%]*)\s*\Z")
_PER_INCH = {"in": 1.0, "cm": 2.54, "mm": 25.4, "q": 101.6, "pt": 72.0, "pc": 6.0}

WidthHeight = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Units:
    """What relative lengths refer to.

    `box` is the nearest viewport in user units, `window` the outermost one in px; `font` and
    `root_font` are font sizes in px.
    """

    px_per_inch: float = 96.0
    box: WidthHeight = (0.0, 0.0)
    window: WidthHeight = (0.0, 0.0)
    font: float = 16.0
    root_font: float = 16.0

    def of(self, number: float, unit: str, axis: str = "") -> float | None:
        """A number and its unit in user units; None for a unit that nobody knows.

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
        split = split_length(text) if text else None
        value = self.of(*split, axis) if split else None
        return default if value is None or not math.isfinite(value) else value

    def _whole(self, axis: str) -> float:
        width, height = self.box
        if axis == "x":
            return width
        return height if axis == "y" else math.hypot(width, height) / math.sqrt(2)


@lru_cache(4096)
def split_length(text: str) -> tuple[float, str] | None:
    """Number and unit (lower case) of a length; None when it is no length."""
    match = _LENGTH.match(text)
    return (float(match[1]), match[2].lower()) if match else None


@lru_cache(64)
def is_known_unit(unit: str) -> bool:
    """Whether a length with this unit can be read."""
    return Units().of(1.0, unit) is not None


@lru_cache(4096)
def numbers(text: str) -> tuple[float, ...] | None:
    """Numbers with white space or commas between; None when there is anything else."""
    found = re.split(r"\s*,\s*|\s+", text.strip()) if text.strip() else []
    if not all(re.fullmatch(NUMBER, part) for part in found):
        return None
    return tuple(map(float, found))
