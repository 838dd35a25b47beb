"""Text and ids that come from the drawing, made fit for XML."""

from __future__ import annotations

import html
import re
import unicodedata

_LETTERS = (
    "A-Z_a-z\u00c0-\u00d6\u00d8-\u00f6\u00f8-\u02ff\u0370-\u037d\u037f-\u1fff\u200c-\u200d"
    "\u2070-\u218f\u2c00-\u2fef\u3001-\ud7ff\uf900-\ufdcf\ufdf0-\ufffd\U00010000-\U000effff"
)
_BEGINS = re.compile(f"[{_LETTERS}]")
_FOREIGN = re.compile(f"[^-.0-9\u00b7\u0300-\u036f\u203f-\u2040{_LETTERS}]+")
_NEVER_TEXT = {"Cc", "Cs", "Cn"}


def escape_text(text: str) -> str:
    """Text for an element or a quoted attribute: one line, no control characters, escaped."""
    return html.escape(plain_text(text))


def plain_text(text: str) -> str:
    """Text on one line without characters that XML forbids or that steer a terminal."""
    spaced = " ".join(text.split())
    return "".join(char for char in spaced if unicodedata.category(char) not in _NEVER_TEXT)


class UniqueIds:
    """Gives out ids that are valid in XML (an NCName) and unique within one document.

    The same requests in the same order get the same ids.
    """

    def __init__(self) -> None:
        self._taken: set[str] = set()

    def take(self, wanted: str) -> str:
        """An id as close to the wanted one as XML allows."""
        base = _valid(wanted)
        name, count = base, 1
        while name in self._taken:
            count += 1
            name = f"{base}-{count}"
        self._taken.add(name)
        return name


def _valid(wanted: str) -> str:
    name = _FOREIGN.sub("-", wanted).strip("-") or "shape"
    return name if _BEGINS.match(name) else f"_{name}"
