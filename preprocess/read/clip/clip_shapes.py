"""CSS basic shapes as clips: circle, ellipse, inset, polygon, path. Source: CSS Shapes 1."""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING

from preprocess.read.shapes.basic_shapes import oval, rounded_rectangle
from preprocess.read.shapes.path_data import Path, parse_path_data
from preprocess.read.xml.lengths import Units, is_length, split_list

if TYPE_CHECKING:
    from preprocess.read.scene.painted import Outline
    from preprocess.read.xml.affine import BoundingBox


CSS_SHAPE = re.compile(
    r"(circle|ellipse|inset|polygon|path)\((.*)\)\s*((?:fill|stroke|view|border|content)-box)?\s*\Z",
    re.IGNORECASE | re.DOTALL,
)
_WORDS = {"left": "0%", "top": "0%", "center": "50%", "right": "100%", "bottom": "100%"}
_RULE = re.compile(r"\s*(nonzero|evenodd)\s*,", re.IGNORECASE)
_QUOTED = re.compile(r"""("[^"]*"|'[^']*')""")
_FOUR = {1: (0, 0, 0, 0), 2: (0, 1, 0, 1), 3: (0, 1, 2, 1), 4: (0, 1, 2, 3)}
"""Indices of the top, right, bottom and left inset among one to four insets."""


def css_shape_outline(
    name: str, arguments: str, box: BoundingBox, units: Units
) -> tuple[Outline, str] | None:
    """The outline of a shape in user units and its fill rule; None when it cannot be read.

    `box` is what percentages refer to.
    """
    found = _RULE.match(arguments)
    rule = found[1].lower() if found else "nonzero"
    inner = arguments[found.end() :] if found else arguments
    measure = _Measure(box, units.within((box[2] - box[0], box[3] - box[1])))
    try:
        path = _MADE[name.lower()](inner.strip(), measure)
    except (ValueError, IndexError, KeyError):
        return None
    return path, rule


class _Measure:
    """Lengths within the box of reference."""

    def __init__(self, box: BoundingBox, units: Units) -> None:
        self.box = box
        self.units = units

    def length(self, text: str, axis: str = "") -> float:
        """A length in user units.

        Raises:
            ValueError: it is none.
        """
        text = _WORDS.get(text.lower(), text)
        if not is_length(text):
            raise ValueError(text)
        return self.units.length(text, axis)

    def point(self, texts: list[str]) -> tuple[float, float]:
        """A point from two lengths."""
        x, y = texts
        return self.box[0] + self.length(x, "x"), self.box[1] + self.length(y, "y")

    def radius(self, text: str, centre: tuple[float, float], axis: str) -> float:
        """A radius: a length, or to the closest or farthest side."""
        left, top, right, bottom = self.box
        sides = {
            "x": (centre[0] - left, right - centre[0]),
            "y": (centre[1] - top, bottom - centre[1]),
        }
        gaps = [abs(gap) for key in (axis or "xy") for gap in sides[key]]
        if text.lower() in {"closest-side", "farthest-side"}:
            return min(gaps) if text.lower() == "closest-side" else max(gaps)
        return self.length(text, axis)


def _round(text: str, measure: _Measure, axes: tuple[str, ...]) -> Outline:
    sizes, _, place = text.partition("at ")
    centre = measure.point(_position(split_list(place.lower())))
    given = split_list(sizes) or ["closest-side"] * len(axes)
    if len(given) != len(axes):
        raise ValueError(text)
    radii = [measure.radius(one, centre, axis) for one, axis in zip(given, axes, strict=True)]
    return oval(centre, (radii[0], radii[-1]))


def _position(words: list[str]) -> list[str]:
    """Two lengths or words, x first; a missing one is the centre."""
    words = [*words, *["center"] * (2 - len(words))]
    swapped = words[0] in {"top", "bottom"} or words[1] in {"left", "right"}
    return words[::-1] if swapped else words


def _inset(text: str, measure: _Measure) -> Outline:
    sides, _, corner = text.partition("round")
    given = split_list(sides)
    top, right, bottom, left = (
        measure.length(given[i], axis) for i, axis in zip(_FOUR[len(given)], "yxyx", strict=True)
    )
    x0, y0, x1, y1 = measure.box
    rx, ry = (measure.length(corner.strip(), axis) if corner.strip() else 0.0 for axis in "xy")
    extent = (x1 - right - x0 - left, y1 - bottom - y0 - top)
    return rounded_rectangle((x0 + left, y0 + top), extent, (rx, ry))


def _polygon(text: str, measure: _Measure) -> Path:
    path = Path()
    for number, pair in enumerate(text.split(",")):
        x, y = measure.point(split_list(pair))
        if not (math.isfinite(x) and math.isfinite(y)):
            raise ValueError(pair)
        (path.line if number else path.move)(x, y)
    path.close()
    return path


def _drawn(text: str, measure: _Measure) -> Path:
    if _QUOTED.fullmatch(text.strip()) is None:
        raise ValueError(text)
    path, error = parse_path_data(text.strip()[1:-1])
    if error is not None:
        raise ValueError(text)
    for i in range(0, len(path.numbers), 2):
        path.numbers[i] += measure.box[0]
        path.numbers[i + 1] += measure.box[1]
    return path


_MADE = {
    "circle": lambda text, measure: _round(text, measure, ("",)),
    "ellipse": lambda text, measure: _round(text, measure, ("x", "y")),
    "inset": _inset,
    "polygon": _polygon,
    "path": _drawn,
}
