"""Brackets that belong together read in one direction. Source: Unicode Annex 9, rule N0."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any
from unicodedata import category, mirrored

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

Marked = dict[str, Any]
"""A character as the bidi library holds it: `ch`, `type` and more."""

_DEEPEST = 63
_AS_STRONG = {"L": "L", "R": "R", "EN": "R", "AN": "R"}


def pair_brackets(characters: Sequence[Marked], level: int, before: str) -> None:
    """Give the brackets of one run of a level their direction; `before` is the one it starts in."""
    own = "LR"[level % 2]
    for opening, closing in sorted(_pairs(characters)):
        inside = {_AS_STRONG.get(one["type"]) for one in characters[opening + 1 : closing]}
        inside.discard(None)
        if not inside:
            continue
        direction = own
        if own not in inside:
            earlier = (_AS_STRONG.get(one["type"]) for one in reversed(characters[:opening]))
            direction = next((one for one in earlier if one), before)
        characters[opening]["type"] = characters[closing]["type"] = direction


def _pairs(characters: Sequence[Marked]) -> Iterator[tuple[int, int]]:
    from bidi.mirror import MIRRORED

    waiting: list[tuple[str, int]] = []
    for at, one in enumerate(characters):
        kind = category(one["ch"])
        if one["type"] != "ON" or kind not in {"Ps", "Pe"} or not mirrored(one["ch"]):
            continue
        if kind == "Ps":
            if len(waiting) == _DEEPEST:
                return
            waiting.append((MIRRORED.get(one["ch"], ""), at))
        else:
            match = next((n for n, held in enumerate(waiting[::-1]) if held[0] == one["ch"]), None)
            if match is not None:
                opening = waiting[len(waiting) - 1 - match][1]
                del waiting[len(waiting) - 1 - match :]
                yield opening, at
