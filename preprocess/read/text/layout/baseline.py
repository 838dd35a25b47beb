"""Baselines: alignment and shift of letters. Source: CSS Inline 3."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from preprocess.read.xml.lengths import split_length

if TYPE_CHECKING:
    from preprocess.read.fonts.font import Font
    from preprocess.read.scene.scene import Scene
    from preprocess.read.text.letters import Span


_HANGING = 0.8
_MATHEMATICAL = 0.5
_NONE = frozenset({"auto", "baseline", "alphabetic", "use-script", "no-change", "reset-size"})


def baseline_drop(scene: Scene, span: Span, font: Font) -> float:
    """Distance of a letter's baseline below its position, user units."""
    scale = span.style.font / font.units
    own = span.style("alignment-baseline").lower()
    name = span.style("dominant-baseline").lower() if own in _NONE else own
    return scale * _height(name, font) - _raised(scene, span, font)


def _height(name: str, font: Font) -> float:
    """The height of a named baseline over the alphabetic one, in units of the font."""
    heights = {
        "middle": font.x_height / 2,
        "central": (font.ascent - font.descent) / 2,
        "hanging": font.ascent * _HANGING,
        "mathematical": font.ascent * _MATHEMATICAL,
        "ideographic": -font.descent,
    }
    for word in ("text-before-edge", "before-edge", "text-top"):
        heights[word] = font.ascent
    for word in ("text-after-edge", "after-edge", "text-bottom"):
        heights[word] = -font.descent
    return heights.get(name, 0.0)


def _raised(scene: Scene, span: Span, font: Font) -> float:
    """Sum of baseline-shift from the text element down, user units upwards."""
    total = 0.0
    one: Span | None = span
    while one is not None and one.parent is not None:
        text = one.style("baseline-shift").lower()
        size = one.style.font
        split = split_length(text)
        if text in {"sub", "super"}:
            height = (font.ascent + font.descent) / font.units * size
            total += height / 2 if text == "super" else -height / 2
        elif split and split[1] == "%" and math.isfinite(split[0]):
            total += split[0] / 100 * size
        elif split:
            total += scene.units(one.context).length(text)
        one = one.parent
    return total
