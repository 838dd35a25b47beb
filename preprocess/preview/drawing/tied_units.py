"""Numbers tied to their units, so that no line ends between the two."""

from __future__ import annotations

import re

HELD = "\N{NO-BREAK SPACE}"
"""A space at which no line ends."""

_GAP = re.compile(
    r"(?<=\d) (?=(?:%|°|[µmc]?m(?:²|³|/s)?|m?s|min|mW|W|J|K|px|[KM]i?B)(?![\w/²³°%]))"
)


def tied(words: str) -> str:
    """The words with a no-break space between each number and its unit."""
    return _GAP.sub(HELD, words)
