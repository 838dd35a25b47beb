"""Longhands of the `font` shorthand. Source: CSS Fonts 4, section 2.7."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

_SIZE_WORDS = "xx-small|x-small|small|medium|large|x-large|xx-large|smaller|larger"
_SIZE = re.compile(
    rf"(?:^|\s)([\d.]+[a-z%]+|{_SIZE_WORDS})(?:\s*/\s*[^\s,]+)?(?:\s+(.+))?\Z",
    re.DOTALL | re.IGNORECASE,
)
_STYLES = frozenset({"italic", "oblique"})
_WEIGHTS = re.compile(r"bold|bolder|lighter|\d{1,4}")
STRETCHES = {
    "ultra-condensed": 50.0,
    "extra-condensed": 62.5,
    "condensed": 75.0,
    "semi-condensed": 87.5,
    "normal": 100.0,
    "semi-expanded": 112.5,
    "expanded": 125.0,
    "extra-expanded": 150.0,
    "ultra-expanded": 200.0,
}
"""Widths of faces in percent of normal."""


def font_longhands(value: str) -> Iterator[tuple[str, str]]:
    """The properties that a font shorthand sets; nothing when it has no size."""
    if value.lower() in {"inherit", "initial", "unset"}:
        for name in ("style", "variant", "weight", "stretch", "size", "family"):
            yield f"font-{name}", value
        return
    match = _SIZE.search(value)
    if match is None:
        return
    found = {"style": "normal", "variant": "normal", "weight": "normal", "stretch": "normal"}
    for word in value[: match.start()].lower().split():
        if word in _STYLES:
            found["style"] = word
        elif word == "small-caps":
            found["variant"] = word
        elif _WEIGHTS.fullmatch(word):
            found["weight"] = word
        elif word in STRETCHES and word != "normal":
            found["stretch"] = word
    yield from ((f"font-{name}", held) for name, held in found.items())
    yield "font-size", match[1]
    if match[2]:
        yield "font-family", match[2]
