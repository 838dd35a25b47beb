"""Position attributes of text: the lists x, y, dx, dy and rotate. Source: SVG 2, 11.4."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from preprocess.read.xml.lengths import split_list

if TYPE_CHECKING:
    from collections.abc import Sequence

    from cssselect2 import ElementWrapper

    from preprocess.read.scene.scene import Scene
    from preprocess.read.text.letters import Letter, Span


_AXES = {"x": "x", "dx": "x", "y": "y", "dy": "y", "rotate": ""}


@dataclass(slots=True)
class GlyphPosition:
    """Position attributes of one letter, None where missing; `rotate` is in degrees."""

    x: float | None = None
    y: float | None = None
    dx: float | None = None
    dy: float | None = None
    rotate: float | None = None


def letter_positions(scene: Scene, letters: Sequence[Letter]) -> list[GlyphPosition]:
    """Position attributes by letter; those of inner elements override those of outer ones."""
    found = [GlyphPosition() for _ in letters]
    for element, (span, numbers) in letters_of_elements(letters).items():
        for name in _AXES:
            if element.local_name == "textPath" and name in {"x", "y"}:
                continue
            values = _values(scene, span, name)
            if name == "rotate" and values:
                values += values[-1:] * (len(numbers) - len(values))
            for number, value in zip(numbers, values, strict=False):
                setattr(found[number], name, value)
    return found


def letters_of_elements(letters: Sequence[Letter]) -> dict[ElementWrapper, tuple[Span, list[int]]]:
    """The numbers of the letters in each element, outer elements first."""
    found: dict[ElementWrapper, tuple[Span, list[int]]] = {}
    for number, letter in enumerate(letters):
        spans: list[Span] = []
        span: Span | None = letter.span
        while span is not None:
            spans.append(span)
            span = span.parent
        for one in reversed(spans):
            found.setdefault(one.element, (one, []))[1].append(number)
    return found


def _values(scene: Scene, span: Span, name: str) -> list[float]:
    """A list attribute in user units, up to the first value that is none."""
    text = span.element.etree_element.attrib.get(name, "")
    units, found = scene.units(span.context), []
    for part in split_list(text):
        value = units.length(part, _AXES[name], math.nan)
        if math.isnan(value):
            scene.say(span.visit, "bad-value", f"{name} {text[:40]!r}")
            break
        found.append(value)
    return found
