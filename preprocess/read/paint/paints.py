"""Fill and stroke of an element: colours, gradients as solid, patterns, and what is not painted."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from preprocess.read.style.colours import colour_of
from preprocess.read.style.properties import URL
from preprocess.read.walk.painted import Ink
from preprocess.read.xml.lengths import split_length

if TYPE_CHECKING:
    from collections.abc import Mapping

    from cssselect2 import ElementWrapper

    from preprocess.read.style.computed import Style

GRADIENTS = frozenset({"linearGradient", "radialGradient"})


@dataclass(frozen=True, slots=True)
class Server:
    """A paint that another element gives."""

    element: ElementWrapper


@dataclass(frozen=True, slots=True)
class Missing:
    """A paint that refers to nothing; `fallback` is what to paint instead."""

    href: str
    fallback: Ink | None


def share(text: str, default: float = 1.0) -> float:
    """An opacity such as "0.5" or "50%", from 0 to 1; `default` when it is none."""
    split = split_length(text)
    if split is None:
        return default
    number = split[0] / 100 if split[1] == "%" else split[0]
    return min(1.0, max(0.0, number))


def paint_of(
    value: str, style: Style, by_id: Mapping[str, ElementWrapper]
) -> Ink | Server | Missing | None:
    """Work out a paint value: a colour, an element that paints, or nothing."""
    match = URL.match(value)
    if match is None:
        return ink_of(value, style)
    href = match[1] or match[2] or match[3] or ""
    target = by_id.get(href[1:]) if href.startswith("#") else None
    if target is not None and target.local_name in {*GRADIENTS, "pattern"}:
        return Server(target)
    return Missing(href, ink_of(match[4] or "none", style))


def ink_of(value: str, style: Style) -> Ink | None:
    """A plain colour; None for "none"."""
    if value.lower() == "none":
        return None
    found = colour_of(value)
    if found == "currentcolor":
        found = colour_of(style("color"))
    if found == "currentcolor" or found is None or isinstance(found, str):
        return Ink("#000000")
    return Ink(*found)
