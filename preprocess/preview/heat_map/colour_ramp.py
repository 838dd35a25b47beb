"""Colours of the heat map: from pale blue through violet to dark red, ever darker.

A straight fall of lightness lets greyscale prints and colour-blind eyes read the map; hue only
helps. Colours are mixed in OKLab, where equal distances look equally far apart.
"""

from __future__ import annotations

import math

import numpy as np

from preprocess.preview.drawing.oklab import oklab_hex

_LIGHTNESS = 0.90, 0.30
_CHROMA = 0.055, 0.105
_BULGE = 0.07
"""By how much the middle is more colourful than the ends; more would leave what screens show."""

_HUE = 225.0, 395.0
"""Degrees: blue, and past 360 to red."""

_FINE = 513


def ramp(count: int) -> tuple[str, ...]:
    """So many colours as #rrggbb, from little heat to much, equally far from one another."""
    shares = np.linspace(0.0, 1.0, _FINE)
    points = np.array([_oklab(t) for t in shares.tolist()])
    steps = np.linalg.norm(np.diff(points, axis=0), axis=1)
    along = np.concatenate(([0.0], np.cumsum(steps)))
    even = np.interp(np.linspace(0.0, along[-1], count), along, shares)
    return tuple(oklab_hex(*_oklab(t)) for t in even.tolist())


def _oklab(t: float) -> tuple[float, float, float]:
    """Lightness, and the two axes of colour, at a share of the way."""
    chroma = _between(_CHROMA, t) + _BULGE * math.sin(math.pi * t)
    hue = math.radians(_between(_HUE, t))
    return _between(_LIGHTNESS, t), chroma * math.cos(hue), chroma * math.sin(hue)


def _between(ends: tuple[float, float], t: float) -> float:
    return ends[0] + (ends[1] - ends[0]) * t
