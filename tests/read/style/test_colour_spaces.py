"""Colours of other spaces against the values that CSS Color 4 gives for named colours."""

from __future__ import annotations

import pytest

from preprocess.read.style.colours import parse_colour
from tests.read.reading import codes, read_sheet

NAMED = {
    "red": (
        "oklch(62.796% 0.25768 29.234)",
        "oklab(0.62796 0.22486 0.12585)",
        "lab(54.2917 80.8125 69.8851)",
        "lch(54.2917 106.8390 40.8526)",
    ),
    "green": (
        "oklch(51.975% 0.17686 142.495)",
        "oklab(51.975% -0.1403 0.10768)",
        "lab(46.2771 -47.5526 48.5864)",
        "lch(46.2771 67.9842 134.3841)",
    ),
    "blue": ("oklch(45.201% 0.31321 264.052)", "lch(29.5683 131.201 301.364)"),
    "white": ("color(display-p3 1 1 1)", "oklch(1 0 0)", "lab(100 0 0)", "oklab(100% 0 none)"),
    "black": ("oklch(0 0 0)", "lch(0 0 none)"),
}
PAIRS = [(text, name) for name, texts in NAMED.items() for text in texts]


@pytest.mark.parametrize(("text", "name"), PAIRS)
def test_named_colours(text, name):
    assert parse_colour(text) == parse_colour(name)


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("light-dark(#2f5d3a, white)", ("#2f5d3a", 1.0)),
        ("light-dark(oklch(0 0 0), white)", ("#000000", 1.0)),
        ("oklch(0 0 0 / 40%)", ("#000000", 0.4)),
        ("color(display-p3 0.7 0.4 0.2)", ("#bf6123", 1.0)),  # as Chromium draws it
        ("oklch(62.8% 0.9 29)", ("#ff0000", 1.0)),  # far out of the gamut: clipped
        ("color(display-p3 1 1 1 / 40%)", ("#ffffff", 0.4)),
        ("color(display-p3 0 1 0)", ("#00ff00", 1.0)),  # out of the gamut: clipped
        ("color-mix(in display-p3, white 40%, black)", ("#666666", 1.0)),  # both curves are one
        ("color(rec2020 1 0 0)", None),
        ("oklch(1 0)", None),
    ],
)
def test_schemes_opacity_and_what_is_no_colour(text, wanted):
    assert parse_colour(text) == wanted


def test_a_leaf_painted_so_is_marked_without_a_warning():
    """17, 86, 41 by the formulas and constants of B. Ottosson, A perceptual colour space (2020)."""
    reading = read_sheet('<rect style="fill: oklch(40% 0.1 150)" width="9" height="9"/>')
    (leaf,) = reading.artwork.shapes
    assert leaf.sources[0].colour == "#115629"
    assert "bad-value" not in codes(reading)
