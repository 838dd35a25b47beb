"""The only place where a float becomes text in an SVG."""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence


def decimal_text(value: float, decimals: int) -> str:
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


def decimal_texts(values: Sequence[float], decimals: int) -> list[str]:
    """The same of many numbers, in a fraction of the time.

    Raises:
        ValueError: one is not a finite number.
    """
    if not math.isfinite(sum(values)):
        return [decimal_text(value, decimals) for value in values]
    text = f"%.{decimals}f\n" * len(values) % tuple(values)
    if decimals:
        text = _NOUGHTS.sub("\n", text).replace(".\n", "\n")
    found = _MINUS_NOUGHT.sub("0", text).split("\n")
    found.pop()
    return found


_NOUGHTS = re.compile(r"0+\n")
_MINUS_NOUGHT = re.compile(r"^-0$", re.MULTILINE)
