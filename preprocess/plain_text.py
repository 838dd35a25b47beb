"""Text for people: characters that would turn the text around them are written out."""

from __future__ import annotations

import re

_TURNING = re.compile("[\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069]")
"""Bidi_Control of the Unicode standard: marks, embeddings, overrides and isolates."""


def escape_directions(text: str) -> str:
    r"""The text with direction controls as escapes, such as \u202e."""
    return _TURNING.sub(lambda found: f"\\u{ord(found[0]):04x}", text)
