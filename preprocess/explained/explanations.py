"""Explanations of findings by code, read from the text files beside this module."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib.resources import files

_KEYS = ("why", "check", "do")
_OVERLAY = "Compare the overlay (evenmark run --overlay picture.svg) with what you meant."
_USUAL_CHECKS = {
    "drawing": _OVERLAY,
    "marking": "Read the job sheet (evenmark run --sheet sheet.html).",
    "passes": _OVERLAY,
    "bench": "Look at the card's drawing, and hold it beside the machine.",
    "models": "Compare the overlay with the part.",
    "coupons": "Look at the coupon again, in the light in which the part will be seen.",
    "photos": "Look at the page: the outlines must lie on the marks, and no lamp on the plastic.",
}
"""Topics, each a text file, with how to check a finding that names no other way."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Explanation:
    """Explanation of one code.

    `title` is a noun or a short sentence; `why` says what it means for the mark, `check` how to see
    whether it is so, `do` the remedy; `recipe` are lines to write into a recipe, if any help.
    """

    code: str
    title: str
    why: str
    check: str
    do: str
    recipe: tuple[str, ...] = ()


@cache
def explanations() -> dict[str, Explanation]:
    """All explanations, by code."""
    found = {}
    for topic, usual in _USUAL_CHECKS.items():
        text = (files(__package__) / f"{topic}.txt").read_text("utf-8")
        for block in text.strip().split("\n\n"):
            one = _explanation(block, usual)
            found[one.code] = one
    return dict(sorted(found.items()))


def _explanation(block: str, usual: str) -> Explanation:
    """One block: code and title, then why, check and do, then lines of a recipe behind a bar.

    Raises:
        ValueError: a line is none of these.
    """
    head, *lines = block.splitlines()
    code, _, title = head.partition(": ")
    said = {"check": usual}
    recipe = []
    for line in lines:
        key, _, text = line.partition(": ")
        if line.startswith("| "):
            recipe.append(line.removeprefix("| "))
        elif key in _KEYS and text:
            said[key] = text
        else:
            raise ValueError(f"{code}: {line!r} is no line of an explanation")
    return Explanation(code=code, title=title, recipe=tuple(recipe), **said)
