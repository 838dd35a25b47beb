"""No line of a picture or page ends between a number and its unit."""

from __future__ import annotations

import pytest

from preprocess.preview.drawing.canvas import text_width, wrap_text
from preprocess.preview.drawing.tied_units import tied


@pytest.mark.parametrize(
    ("words", "shown"),
    [
        ("at 88 %", "at 88~%"),
        ("0.07 to 54.03 mm wide", "0.07 to 54.03~mm wide"),
        ("900 mm/s, 48.8 mm²", "900~mm/s, 48.8~mm²"),
        ("in 4 minutes, 3 moths", "in 4 minutes, 3 moths"),
        ("9 s of marking", "9~s of marking"),
        ("larger than 68.2 × 11.42 mm", "larger than 68.2~×~11.42~mm"),
        ("2 × moth", "2 × moth"),
    ],
)
def test_a_unit_is_held_to_its_number(words, shown):
    assert tied(words) == shown.replace("~", "\N{NO-BREAK SPACE}")


def test_nothing_has_no_line():
    assert wrap_text("", 20) == wrap_text("  ", 20) == []


@pytest.mark.parametrize("width", range(8, 40))
def test_no_line_begins_with_a_unit(width):
    lines = wrap_text("frond-1: engrave at 88 % and 900 mm/s", width)
    assert " ".join(lines) == "frond-1: engrave at 88 % and 900 mm/s" or width < 13
    together = text_width("900 mm/s") <= width
    assert not together or not any(line.startswith(("%", "mm")) for line in lines)
