from __future__ import annotations

import sys
import unicodedata

from preprocess.plain_text import escape_directions
from preprocess.preview.drawing.canvas import group, text
from preprocess.preview.drawing.html import _printable

NAME = "fern\u202egvs.svg"


def test_each_control_of_direction_is_written_out():
    """Unicode's own table of directions names what turns text; the three marks have no class."""
    turning = {"LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI"}
    for number in range(sys.maxunicode + 1):
        character = chr(number)
        turns = unicodedata.bidirectional(character) in turning or number in {0x61C, 0x200E, 0x200F}
        assert (escape_directions(character) != character) == turns, hex(number)
    assert escape_directions(NAME) == "fern\\u202egvs.svg"
    assert escape_directions("سرخس") == "سرخس"


def test_pictures_and_pages_do_not_turn():
    for shown in (text(0, 0, NAME), *group("g", NAME, []), str(_printable(NAME))):
        assert "\u202e" not in shown
    assert "fern\\u202egvs.svg" in text(0, 0, NAME)
