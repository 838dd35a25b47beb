"""Numbers tied to their units, and sizes to their sign ×, so that no line ends between."""

from __future__ import annotations

import re

HELD = "\N{NO-BREAK SPACE}"
"""A space at which no line ends."""

_GAP = re.compile(
    r"(?<=\d) (?=(?:%|°|[µmc]?m(?:²|³|/s)?|m?s|min|mW|W|J|K|px|[KM]i?B)(?![\w/²³°%]))"
    r"|(?<=\d) (?=× \d)|(?<=\d ×) (?=\d)"
)


def tied(words: str) -> str:
    """The words with no-break spaces between numbers and units, and in sizes such as 64 × 28 mm."""
    return _GAP.sub(HELD, words)
