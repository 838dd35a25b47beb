"""Pieces of an SVG for the eye: paint, patterns, paths, text. Sheet coordinates are mm."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

import shapely
from shapely import Geometry

from preprocess.plain_text import escape_directions
from preprocess.preview.drawing.tied_units import HELD, tied
from preprocess.write.svg.decimals import decimal_text
from preprocess.write.svg.xml_text import escape_text

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

_Drawn = TypeVar("_Drawn", bound=Geometry)
_FONT = "Helvetica, Arial, Liberation Sans, DejaVu Sans, sans-serif"
INK = "#222222"
TEXT_SIZE = 3.0
"""Size of text in mm: 8.5 points, so that it can be read in print."""

LEADING = 1.4
"""Sizes of text from one line to the next."""

SVG_NAMESPACE = "http://www.w3.org/2000/svg"
_SQUARE = 0x2E80
"""From here on scripts whose characters are as wide as high."""

SHEET_TOLERANCE = 0.02
"""mm on the sheet by which outlines are simplified: finer than any printer."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Paint:
    """Paint of a mark; `pattern` names a pattern that is drawn over the fill."""

    fill: str = "none"
    pattern: str = ""
    stroke: str = "none"
    width: float = 0.2
    dash: str = ""

    def layers(self) -> list[str]:
        """Attributes of the paths that make it up, from below."""
        line = f'stroke="{self.stroke}"'
        if self.stroke != "none":
            line += f' stroke-width="{self.width}" stroke-linejoin="round" stroke-linecap="round"'
        if self.dash:
            line += f' stroke-dasharray="{self.dash}"'
        over = f"url(#{self.pattern})" if self.pattern else self.fill
        top = f'fill="{over}" fill-rule="evenodd" {line}'
        if not self.pattern or self.fill == "none":
            return [top]
        return [f'fill="{self.fill}" fill-rule="evenodd"', top]


@dataclass(frozen=True, slots=True, kw_only=True)
class Viewport:
    """Place of the artwork on the sheet: `scale` sheet mm per mm, about two points."""

    scale: float
    origin: tuple[float, float]
    corner: tuple[float, float]

    def data(self, geometry: Geometry) -> str:
        """Path data of areas or lines, simplified for the eye."""
        parts = shapely.get_parts(
            self.on_sheet(shapely.simplify(geometry, SHEET_TOLERANCE / self.scale))
        )
        areas = len(parts) > 0 and parts[0].geom_type == "Polygon"
        rings = shapely.get_rings(parts) if areas else parts
        return " ".join(_subpath(shapely.get_coordinates(r).tolist(), closed=areas) for r in rings)

    def on_sheet(self, geometry: _Drawn) -> _Drawn:
        """Areas, lines or points of the artwork where they lie on the sheet."""
        (x, y), (left, top) = self.origin, self.corner
        return shapely.transform(geometry, lambda p: (p - (x, y)) * self.scale + (left, top))


def path(data: str, paint: Paint) -> list[str]:
    """Paths of one thing under one paint."""
    return [f'<path {attributes} d="{data}"/>' for attributes in paint.layers()]


def group(name: str, title: str, lines: list[str]) -> list[str]:
    """A group with its title, which viewers show on hover."""
    return [f'<g id="{name}"><title>{_shown(title)}</title>', *lines, "</g>"]


def text(
    x: float,
    y: float,
    words: str,
    *,
    size: float = TEXT_SIZE,
    end: bool = False,
    bold: bool = False,
) -> str:
    """One line of text; x is its left end, or its right end."""
    anchor = ' text-anchor="end"' if end else ""
    weight = ' font-weight="bold"' if bold else ""
    return (
        f'<text x="{mm(x)}" y="{mm(y)}" font-family="{_FONT}" font-size="{mm(size)}"{weight}'
        f' fill="{INK}"{anchor}>{_shown(words)}</text>'
    )


def wrap_text(words: str, width: float, *, size: float = TEXT_SIZE) -> list[str]:
    """Text broken into lines that fit a width in mm; a word that is too long is cut off.

    Numbers and units stay together where both fit into a line.
    """
    lines: list[str] = []
    for word in _words(words, width, size):
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width(longer, size=size) <= width:
            lines[-1] = longer
        else:
            lines.append(_cut(word, width, size))
    return lines


def paragraph(
    x: float, y: float, words: str, width: float, *, size: float = TEXT_SIZE, bold: bool = False
) -> tuple[list[str], float]:
    """Text below y, broken into lines of a width, and where it ends; sizes in mm."""
    lines = []
    for line in wrap_text(words, width, size=size):
        lines.append(text(x, y + size, line, size=size, bold=bold))
        y += LEADING * size
    return lines, y


def svg_text(
    title: str, lines: Iterable[str], size: tuple[float, float], patterns: Iterable[str] = ()
) -> str:
    """A picture of a size in mm; its title is read out for it."""
    wide, high = mm(size[0]), mm(size[1])
    defs = ["<defs>", *patterns, "</defs>"] if patterns else []
    start = (
        f'<svg xmlns="{SVG_NAMESPACE}" version="1.1" width="{wide}mm" height="{high}mm"'
        f' viewBox="0 0 {wide} {high}">'
    )
    return "\n".join([start, f"<title>{_shown(title)}</title>", *defs, *lines, "</svg>"])


def rectangle(x: float, y: float, width: float, height: float) -> str:
    """Path data of a rectangle."""
    return f"M{mm(x)} {mm(y)} h{mm(width)} v{mm(height)} h{mm(-width)} Z"


def mm(value: float) -> str:
    """A length or place on the sheet."""
    return decimal_text(value, 2)


def text_width(words: str, *, size: float = TEXT_SIZE) -> float:
    """Width of a text in mm, on the safe side for the usual fonts."""
    return size * sum(map(_em, words))


def _shown(words: str) -> str:
    return escape_text(escape_directions(words))


def _words(words: str, width: float, size: float) -> Iterator[str]:
    """Words between which a line may end."""
    for word in re.split(r"[^\S\N{NO-BREAK SPACE}]+", tied(words).strip()):
        whole = word.replace(HELD, " ")
        yield from [whole] if word and text_width(whole, size=size) <= width else whole.split()


def _cut(word: str, width: float, size: float) -> str:
    while text_width(word, size=size) > width and len(word) > 1:
        word = word[:-2] + "…"
    return word


def _em(char: str) -> float:
    if ord(char) >= _SQUARE:
        return 1.0
    if char in "ijltf.,:;'|() ":
        return 0.36
    return 0.72 if char.isupper() or char in "mw%×" else 0.58


def _subpath(points: list[list[float]], *, closed: bool) -> str:
    pairs = [f"{mm(x)} {mm(y)}" for x, y in (points[:-1] if closed else points)]
    return "M" + " ".join(pairs) + ("Z" if closed else "")
