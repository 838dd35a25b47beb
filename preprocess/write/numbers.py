"""The only place where a float becomes text in an SVG."""

from __future__ import annotations

import math


def number(value: float, decimals: int) -> str:
    """A number with at most `decimals` decimals: no exponent, no trailing zero, no minus zero.

    Numbers on the grid of 10**-decimals come back as they were when the text is read.

    Raises:
        ValueError: not a finite number.
    """
    if not math.isfinite(value):
        raise ValueError(f"{value} cannot stand in an SVG")
    text = f"{value:.{decimals}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
