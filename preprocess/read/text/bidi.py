"""Bidirectional text: embedding levels and visual order. Source: Unicode Annex 9."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, TypeVar
from unicodedata import bidirectional, category, mirrored

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

_T = TypeVar("_T")

Embeddings = tuple[tuple[object, str], ...]

_POP = "\u202c"
_TURNING = frozenset({"R", "AL", "AN", "RLE", "RLO", "RLI", "LRO"})
_OLDER = {"\u2066": "\u202a", "\u2067": "\u202b", "\u2068": "\u202a", "\u2069": _POP}
"""Isolates count as embeddings, which differ at their borders only."""


def embedding_levels(text: str, embeddings: Sequence[Embeddings], *, backwards: bool) -> list[int]:
    """The embedding level of each letter; odd ones run from right to left.

    `embeddings` holds for each letter the elements around it that turn the direction.
    """
    turns = any(bidirectional(one) in _TURNING for one in text)
    if not (turns or backwards or any(embeddings)):
        return [0] * len(text)
    marked, numbers = _with_marks(text, embeddings)
    found = [int(backwards)] * len(text)
    for at, level in _resolved(marked, backwards=backwards):
        if numbers[at] is not None:
            found[numbers[at]] = level  # type: ignore[index]  # not None: asked above
    for at in range(len(text) - 1, -1, -1):
        if text[at].strip():
            break
        found[at] = int(backwards)
    return found


def _with_marks(text: str, embeddings: Sequence[Embeddings]) -> tuple[str, list[int | None]]:
    """The text with the directional characters that its elements stand for."""
    marked: list[str] = []
    numbers: list[int | None] = []
    now: Embeddings = ()
    for number, (one, inside) in enumerate(zip(text, embeddings, strict=True)):
        same = 0
        while same < min(len(now), len(inside)) and now[same] == inside[same]:
            same += 1
        marks = _POP * (len(now) - same) + "".join(mark for _, mark in inside[same:])
        marked += (*marks, _OLDER.get(one, one))
        numbers += (*([None] * len(marks)), number)
        now = inside
    return "".join(marked), numbers


def _resolved(text: str, *, backwards: bool) -> list[tuple[int, int]]:
    """Position and level of the characters that have one."""
    from bidi import algorithm

    storage = algorithm.get_empty_storage()
    storage["base_level"], storage["base_dir"] = int(backwards), "LR"[backwards]
    algorithm.get_embedding_levels(text, storage, False, False)  # noqa: FBT003
    for at, one in enumerate(storage["chars"]):
        one["at"] = at
    algorithm.explicit_embed_and_overrides(storage, False)  # noqa: FBT003
    algorithm.resolve_weak_types(storage, False)  # noqa: FBT003
    for run in storage["runs"]:
        part = storage["chars"][run["start"] : run["start"] + run["length"]]
        pair_brackets(part, part[0]["level"] if part else 0, run["sor"])
    algorithm.resolve_neutral_types(storage, False)  # noqa: FBT003
    algorithm.resolve_implicit_levels(storage, False)  # noqa: FBT003
    return [(one["at"], one["level"]) for one in storage["chars"]]


def visual_order(items: Sequence[_T], depths: Sequence[int]) -> list[_T]:
    """Items from left to right, given in reading order with their levels (rule L2)."""
    order = list(range(len(items)))
    for depth in range(max(depths, default=0), 0, -1):
        start = 0
        while start < len(order):
            stop = start
            while stop < len(order) and depths[order[stop]] >= depth:
                stop += 1
            order[start:stop] = order[start:stop][::-1]
            start = max(stop, start + 1)
    return [items[number] for number in order]


BidiCharacter = dict[str, Any]
"""A character as the bidi library holds it: `ch`, `type` and more."""

_DEEPEST = 63
_AS_STRONG = {"L": "L", "R": "R", "EN": "R", "AN": "R"}


def pair_brackets(characters: Sequence[BidiCharacter], level: int, before: str) -> None:
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


def _pairs(characters: Sequence[BidiCharacter]) -> Iterator[tuple[int, int]]:
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
