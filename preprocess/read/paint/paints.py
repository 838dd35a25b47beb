"""Fill and stroke of an element: colours, gradients as solid, patterns, and what is not painted."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from preprocess.read.scene.painted import Ink
from preprocess.read.style.colours import colour_of
from preprocess.read.style.properties import URL
from preprocess.read.xml.references import referenced

if TYPE_CHECKING:
    from collections.abc import Mapping

    from cssselect2 import ElementWrapper

    from preprocess.read.style.computed import Style


GRADIENTS = frozenset({"linearGradient", "radialGradient"})


@dataclass(frozen=True, slots=True)
class PaintServer:
    """A paint that another element gives."""

    element: ElementWrapper


@dataclass(frozen=True, slots=True)
class MissingPaint:
    """A paint that refers to nothing; `fallback` is what to paint instead."""

    href: str
    fallback: Ink | None


def paint_of(
    value: str, style: Style, by_id: Mapping[str, ElementWrapper]
) -> Ink | PaintServer | MissingPaint | None:
    """Work out a paint value: a colour, an element that paints, or nothing."""
    match = URL.match(value)
    if match is None:
        return ink_of(value, style)
    href = match[1] or match[2] or match[3] or ""
    target = referenced(href, by_id)
    if target is not None and target.local_name in {*GRADIENTS, "pattern"}:
        return PaintServer(target)
    return MissingPaint(href, ink_of(match[4] or "none", style))


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
