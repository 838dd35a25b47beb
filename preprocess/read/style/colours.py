"""Colours of CSS as #rrggbb and an opacity."""

from __future__ import annotations

import math
import re
from functools import lru_cache

from tinycss2 import color5

from preprocess.read.style.colour_mix import mixed_colour, plain_srgb
from preprocess.read.xml.lengths import split_length

Colour = tuple[str, float]
"""#rrggbb and an opacity from 0 to 1."""


@lru_cache(8192)
def parse_colour(text: str, current: str = "black") -> Colour | str | None:
    """A colour as (#rrggbb, opacity), the word "currentcolor", or None when it is no colour.

    `current` is the colour that this word stands for within a mixed colour.
    """
    if "color-mix(" in text.lower():
        mixed = mixed_colour(text, current)
        return mixed and _colour(mixed.rgb, mixed.alpha)
    parsed = color5.parse_color(_spaced(text), color_schemes=["light"])
    if parsed is None:
        return None
    if isinstance(parsed, str):
        return "currentcolor"
    rgb = plain_srgb(parsed)
    return rgb and _colour(rgb, 1.0 if parsed.alpha is None else float(parsed.alpha))


def _colour(rgb: tuple[float, float, float], alpha: float) -> Colour:
    return "#" + "".join(f"{_byte(value):02x}" for value in rgb), min(1.0, max(0.0, alpha))


def channels_of(colour: str) -> list[float]:
    """Red, green and blue of #rrggbb, 0 to 1."""
    return [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]


def alpha_value(text: str, default: float = 1.0) -> float:
    """An opacity such as "0.5" or "50%", from 0 to 1; `default` for any other text."""
    split = split_length(text)
    if split is None:
        return default
    number = split[0] / 100 if split[1] == "%" else split[0]
    return min(1.0, max(0.0, number))


def _byte(value: float) -> int:
    """Round half up, as browsers do."""
    if not math.isfinite(value):
        return 0
    return math.floor(min(1.0, max(0.0, value)) * 255 + 0.5)


def _spaced(text: str) -> str:
    """A colour without the icc-color() of SVG 1.1."""
    return re.sub(r"\s*icc-color\s*\(.*\)\s*\Z", "", text)
