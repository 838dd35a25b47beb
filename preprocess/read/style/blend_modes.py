"""Blend modes for one colour over another. Source: Compositing and Blending 1, section 10."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from preprocess.read.style.colours import channels_of

if TYPE_CHECKING:
    from collections.abc import Callable

_HALF = 0.5
_QUARTER = 0.25
_WEIGHTS = (0.3, 0.59, 0.11)


def blended_colour(mode: str, below: str, colour: str, alpha: float) -> str:
    """The colour, #rrggbb, of a paint blended with an opaque colour below it."""
    under, over = channels_of(below), channels_of(colour)
    if mode in _KEEP_LIGHTNESS:
        # Hue and saturation may change, but white stays white, black black, and others neither.
        return below
    if mode == "luminosity":
        light = sum(w * c for w, c in zip(_WEIGHTS, over, strict=True))
        mixed = [light] * 3
    else:
        mixed = [_MODES[mode](b, s) for b, s in zip(under, over, strict=True)]
    shown = [(1 - alpha) * b + alpha * m for b, m in zip(under, mixed, strict=True)]
    return "#" + "".join(f"{math.floor(255 * min(1.0, max(0.0, c)) + 0.5):02x}" for c in shown)


def _dodge(b: float, s: float) -> float:
    if b == 0:
        return 0.0
    return 1.0 if s >= 1 else min(1.0, b / (1 - s))


def _burn(b: float, s: float) -> float:
    if b >= 1:
        return 1.0
    return 0.0 if s == 0 else 1 - min(1.0, (1 - b) / s)


def _hard_light(b: float, s: float) -> float:
    return 2 * b * s if s <= _HALF else 1 - 2 * (1 - b) * (1 - s)


def _soft_light(b: float, s: float) -> float:
    if s <= _HALF:
        return b - (1 - 2 * s) * b * (1 - b)
    root = ((16 * b - 12) * b + 4) * b if b <= _QUARTER else math.sqrt(b)
    return b + (2 * s - 1) * (root - b)


_MODES: dict[str, Callable[[float, float], float]] = {
    "normal": lambda _, s: s,
    "multiply": lambda b, s: b * s,
    "screen": lambda b, s: b + s - b * s,
    "overlay": lambda b, s: _hard_light(s, b),
    "darken": min,
    "lighten": max,
    "color-dodge": _dodge,
    "color-burn": _burn,
    "hard-light": _hard_light,
    "soft-light": _soft_light,
    "difference": lambda b, s: abs(b - s),
    "exclusion": lambda b, s: b + s - 2 * b * s,
    "plus-lighter": lambda b, s: b + s,
}
_KEEP_LIGHTNESS = frozenset({"hue", "saturation", "color"})

LIGHTNESS_MODES = _KEEP_LIGHTNESS | {"luminosity"}
"""Modes that part lightness from hue; here they are right over black and white only."""

BLEND_MODES = (*_MODES, *sorted(LIGHTNESS_MODES))
