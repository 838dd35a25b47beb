"""Colours of the heat map, by the lightness of CIE 1976."""

from __future__ import annotations

from itertools import pairwise

from preprocess.preview.heat_map.colour_ramp import ramp
from preprocess.preview.heat_map.scale import LEVELS


def lightness(colour: str) -> float:
    """L* of CIE 1976 from #rrggbb."""
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    y = 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
    return 116 * y ** (1 / 3) - 16


def test_colours_fall_in_lightness_by_equal_steps():
    light = [lightness(colour) for colour in ramp(LEVELS)]
    steps = [a - b for a, b in pairwise(light)]
    assert min(steps) > 1.0
    assert max(steps) < 2 * min(steps)
