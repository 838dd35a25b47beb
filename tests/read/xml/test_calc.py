"""Calculated lengths: by the rules of CSS Values 4, worked out by hand."""

from __future__ import annotations

import pytest

from preprocess.read.xml.lengths import Units, is_length, split_length, split_list
from tests.read.reading import codes, read_sheet

UNITS = Units(px_per_inch=96.0, box=(200.0, 100.0), font=20.0)


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("calc(2px * 3)", 6),
        ("calc(3 * 2px)", 6),
        ("calc(10px / 4)", 2.5),
        ("calc(1px + 2px * 3)", 7),
        ("calc((1px + 2px) * 3)", 9),
        ("calc(10px - 2px - 3px)", 5),
        ("calc(50% + 1em)", 120),  # half of 200, and a font size
        ("calc(1in - 25.4mm)", 0),
        ("calc(-1 * 4px)", -4),
        ("calc(2 * 3)", 6),
        ("calc(1px + calc(2px + 3px))", 6),
        ("calc(pi * 1px)", 3.141592653589793),
        ("CALC(1PX + 1Px)", 2),
        ("min(10px, 10%, 3em)", 10),
        ("max(10px, 10%, 3em)", 60),
        ("clamp(5px, 10%, 15px)", 15),
        ("clamp(30px, 10%, 25px)", 30),  # the lower bound wins
        ("calc(max(1px, 2px) * 2)", 4),
        ("calc(1e2px + 1px)", 101),
    ],
)
def test_values(text, wanted):
    assert is_length(text)
    assert UNITS.length(text, "x", default=-99.0) == pytest.approx(wanted)


@pytest.mark.parametrize(
    "text",
    [
        "calc(1px+2px)",  # a sign wants spaces, or it belongs to the number
        "calc(1px + 2)",
        "calc(1px * 2px)",
        "calc(2 / 1px)",
        "calc(1px / 0)",
        "calc(1px +)",
        "calc()",
        "calc(1moth)",
        "calc(1px, 2px)",
        "clamp(1px, 2px)",
        "min(1px, 2)",
        "sin(1)",
        "calc(1e308px * 1e308)",
        "calc(" * 99 + "1px" + ")" * 99,
        "calc(" + "1px + " * 9999 + "1px)",
    ],
)
def test_what_has_no_value(text):
    assert not is_length(text)
    assert UNITS.length(text, "x", default=-99.0) == -99.0


def test_one_unit_is_known_without_its_place():
    assert split_length("calc(2em * 3)") == (6.0, "em")
    assert split_length("calc(10% + 5%)") == (15.0, "%")
    assert split_length("calc(2 * 3)") == (6.0, "")
    assert split_length("calc(1em + 1px)") is None


def test_brackets_stay_together():
    assert split_list(" 1px, calc(1px + 2px) 3px") == ["1px", "calc(1px + 2px)", "3px"]


def drawn(markup):
    """Bounds in mm of the single shape on a page where a px is a mm, and what is told."""
    reading = read_sheet(markup)
    (shape,) = reading.artwork.shapes
    return shape.geometry.bounds, codes(reading)


def test_in_attributes_and_style_sheets():
    same, _ = drawn('<rect x="3" y="2" width="6" height="4"/>')
    for markup in (
        '<rect x="calc(1px + 2px)" y="2" width="calc(12px / 2)" height="min(4px, 9px)"/>',
        '<rect style="x: calc(1px * 3); y: 2px; width: max(6px, 1px)" height="4"/>',
        (
            '<g style="--moss: 2px"><rect style="x:3px;y:var(--moss);width:calc(3 * var(--moss));'
            'height:calc(var(--moss) * 2)"/></g>'
        ),
    ):
        assert drawn(markup) == (pytest.approx(same), set())


def test_strokes_and_their_dashes():
    plain = '<path d="M2 5H20" fill="none" stroke="#000" stroke-width="{}" stroke-dasharray="{}"/>'
    for width, dashes in (("calc(1px / 2)", "calc(1px + 1px) 3"), ("0.5", "2 max(3px, 1px)")):
        (vein,) = read_sheet(plain.format(width, dashes)).artwork.shapes
        assert vein.stroke.width == 0.5
        assert len(vein.geometry.geoms) == 4  # 2 on and 3 off in 18


def test_below_zero_counts_as_zero():
    reading = read_sheet(
        '<path d="M2 5H20" stroke="#000" stroke-width="calc(1px - 2px)"/>'
        '<rect width="9" height="9"/>'
    )
    assert [shape.id for shape in reading.artwork.shapes] == ["svg/rect[1]"]
    assert "style-value-ignored" not in codes(reading)


def test_font_sizes():
    reading = read_sheet(
        '<g style="font-size: calc(10px + 50%)"><rect style="x: 1em" width="9" height="9"/></g>'
    )
    (leaf,) = reading.artwork.shapes
    assert leaf.geometry.bounds[0] == pytest.approx(10 + 16 / 2)
