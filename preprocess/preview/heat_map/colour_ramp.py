"""Colours of the heat map: from pale blue through violet to dark red, ever darker.

A straight fall of lightness lets greyscale prints and colour-blind eyes read the map; hue only
helps. Colours are mixed in OKLab (B. Ottosson, "A perceptual color space for image processing",
2020), where equal distances look equally far apart.
"""

from __future__ import annotations

import math

import numpy as np

_LIGHTNESS = 0.90, 0.30
_CHROMA = 0.055, 0.105
_BULGE = 0.07
"""By how much the middle is more colourful than the ends; more would leave what screens show."""

_HUE = 225.0, 395.0
"""Degrees: blue, and past 360 to red."""

_FINE = 513
_OFFSET, _BREAK = 0.055, 0.0031308


def ramp(count: int) -> tuple[str, ...]:
    """So many colours as #rrggbb, from little heat to much, equally far from one another."""
    shares = np.linspace(0.0, 1.0, _FINE)
    points = np.array([_oklab(t) for t in shares.tolist()])
    steps = np.linalg.norm(np.diff(points, axis=0), axis=1)
    along = np.concatenate(([0.0], np.cumsum(steps)))
    even = np.interp(np.linspace(0.0, along[-1], count), along, shares)
    return tuple(_hex(_oklab(t)) for t in even.tolist())


def _oklab(t: float) -> tuple[float, float, float]:
    """Lightness, and the two axes of colour, at a share of the way."""
    chroma = _between(_CHROMA, t) + _BULGE * math.sin(math.pi * t)
    hue = math.radians(_between(_HUE, t))
    return _between(_LIGHTNESS, t), chroma * math.cos(hue), chroma * math.sin(hue)


def _between(ends: tuple[float, float], t: float) -> float:
    return ends[0] + (ends[1] - ends[0]) * t


def _hex(lab: tuple[float, float, float]) -> str:
    """OKLab to sRGB, with the numbers of the paper and of IEC 61966-2-1."""
    light, a, b = lab
    long = (light + 0.3963377774 * a + 0.2158037573 * b) ** 3
    medium = (light - 0.1055613458 * a - 0.0638541728 * b) ** 3
    short = (light - 0.0894841775 * a - 1.2914855480 * b) ** 3
    linear = (
        4.0767416621 * long - 3.3077115913 * medium + 0.2309699292 * short,
        -1.2684380046 * long + 2.6097574011 * medium - 0.3413193965 * short,
        -0.0041960863 * long - 0.7034186147 * medium + 1.7076147010 * short,
    )
    return "#" + "".join(f"{round(255 * _encoded(channel)):02x}" for channel in linear)


def _encoded(linear: float) -> float:
    value = min(max(linear, 0.0), 1.0)
    if value <= _BREAK:
        return 12.92 * value
    return float((1 + _OFFSET) * value ** (1 / 2.4) - _OFFSET)
