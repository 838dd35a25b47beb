"""Patterns and tints: layers and levels are told apart without hue."""

from __future__ import annotations

import pytest

from preprocess.preview.drawing.fill_patterns import ground
from preprocess.write.svg.layer_colours import COLOURS, contrast_ratio


@pytest.mark.parametrize("colour", COLOURS)
def test_levels_get_lighter_whatever_the_hue(colour):
    tones = [contrast_ratio(ground(colour, i, 4)) for i in range(4)]
    assert tones == sorted(tones, reverse=True)
    assert tones[0] / tones[-1] > 1.3


@pytest.mark.parametrize("colour", COLOURS)
def test_black_dots_show_on_every_layer(colour):
    assert contrast_ratio(ground(colour, 0, 1), "#000000") > 3
