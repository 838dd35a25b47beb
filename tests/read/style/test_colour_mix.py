"""Mixed colours: by hand where that is short, else as Chromium 156 paints them."""

from __future__ import annotations

import pytest

from preprocess.read.style.colours import parse_colour
from tests.read.reading import codes, read_sheet

BY_HAND = {
    # half of each channel; 0.2 · 47 + 0.8 · 255 = 213.4, and so on
    "color-mix(in srgb, #ff0000, #0000ff)": ("#800080", 1.0),
    "color-mix(in srgb, #2f5d3a 20%, white)": ("#d5dfd8", 1.0),
    "color-mix(in srgb, white, 20% #2f5d3a)": ("#d5dfd8", 1.0),
    # shares of 30 and 20 are 60 and 40 of 100, and half as opaque
    "color-mix(in srgb, #000000 30%, #ffffff 20%)": ("#666666", 0.5),
    # weighed by opacity: 0.5 of red to 1 of blue
    "color-mix(in srgb, rgb(255 0 0 / 50%), blue)": ("#5500aa", 0.75),
    "color-mix(in oklab, transparent, blue 40%)": ("#0000ff", 0.4),
    # hues 0 and 120 lie 60 from one another's middle, or 180 the long way
    "color-mix(in hsl, hsl(0 100% 50%), hsl(120 100% 50%))": ("#ffff00", 1.0),
    "color-mix(in hsl longer hue, hsl(0 100% 50%), hsl(120 100% 50%))": ("#0000ff", 1.0),
    "color-mix(in srgb, red 0%, blue 0%)": ("#800080", 0.0),
}
BY_CHROMIUM = {
    "color-mix(in oklab, #2f5d3a, white)": "#94ab97",
    "color-mix(in oklab, red 70%, blue)": "#ba4d79",
    "color-mix(in oklch, red, blue)": "#ba00c2",
    "color-mix(in oklch longer hue, red, blue)": "#009300",
    "color-mix(in oklch, white, green)": "#90c08c",
    "color-mix(in oklch, oklch(0.5 none 120), oklch(0.7 0.1 200))": "#42926b",
    "color-mix(in lab, #804020 10%, black)": "#140b05",
    "color-mix(in lch increasing hue, #804020, #205030)": "#4f4f12",
    "color-mix(in lch decreasing hue, #804020, #205030)": "#394b82",
    "color-mix(in hsl, #888, #205030)": "#4b7559",
    "color-mix(in hsl, hsl(120 none 50%), hsl(20 40% 30%))": "#818f3d",
    "color-mix(in hwb, #804020, #205030 80%)": "#245a20",
    "color-mix(in xyz, #804020, #205030)": "#5f4929",
    "color-mix(in xyz-d50, #804020, #205030)": "#5f4929",
    "color-mix(in srgb-linear, #804020, white)": "#cdc0bd",
    "color-mix(in srgb, color-mix(in oklab, red, lime), black 40%)": "#7d6500",
    "color(srgb-linear 0.5 0.2 0.1)": "#bc7c59",
    "color(xyz 0.3 0.4 0.2)": "#8bb66b",
    "color(xyz-d50 0.3 0.4 0.2)": "#7ab87f",
}


@pytest.mark.parametrize("text", BY_HAND)
def test_by_hand(text):
    assert parse_colour(text) == BY_HAND[text]


@pytest.mark.parametrize("text", BY_CHROMIUM)
def test_as_chromium_paints_it(text):
    assert parse_colour(text) == (BY_CHROMIUM[text], 1.0)


@pytest.mark.parametrize(
    "text",
    [
        "color-mix(in srgb, red)",
        "color-mix(in srgb, red, blue, lime)",
        "color-mix(in srgb, red 120%, blue)",
        "color-mix(in srgb, red 1e9%, blue)",
        "color-mix(srgb, red, blue)",
        "color-mix(in srgb longer hue, red, blue)",
        "color-mix(in moss, red, blue)",
        "color-mix(in srgb, red 10% 20%, blue)",
        "color-mix(" * 40 + "in srgb, red, blue" + ")" * 40,
    ],
)
def test_what_is_no_mixed_colour(text):
    assert parse_colour(text) is None


def test_the_colour_of_the_element_is_mixed():
    """Half of #204060 and half of white is #90a0b0, but for halves that round up."""
    reading = read_sheet(
        '<g color="#204060">'
        '<rect style="fill: color-mix(in srgb, currentColor, white)" width="9" height="9"/></g>'
    )
    (leaf,) = reading.artwork.shapes
    assert leaf.sources[0].colour == "#90a0b0"
    assert "style-value-ignored" not in codes(reading)


def test_a_mixed_colour_that_cannot_be_read_is_told():
    reading = read_sheet('<rect style="fill: color-mix(in moss, red, blue)" width="9" height="9"/>')
    assert "style-value-ignored" in codes(reading)
