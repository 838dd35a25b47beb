"""Shaping with one face: glyphs and their outlines in units of the font."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache
from string import ascii_lowercase
from typing import TYPE_CHECKING

import uharfbuzz as hb

from preprocess.read.fonts.faces import Face, blob_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from preprocess.read.fonts.matching import FontRequest


GlyphSegment = tuple[str, tuple[float, ...]]
"""A kind of M, L, C, Z with its coordinates, y upwards."""

_MIDDLE_OF_X = 0.5
_SLANT = -12.0
_SWITCHED_ON = 1.0


@dataclass(frozen=True, slots=True)
class Glyph:
    """One shaped glyph: which letter it begins with, how far it leads, where it sits."""

    number: int
    letter: int
    advance: float
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class ShapingStyle:
    """Parameters of shaping: embedding level, script, language, OpenType features.

    An odd level runs from right to left.
    """

    level: int = 0
    script: str = "Latn"
    language: str = "en"
    features: tuple[tuple[str, int], ...] = ()


class Font:
    """One face of a file, at one weight, width and slant."""

    def __init__(self, face: Face, want: FontRequest) -> None:
        self.face = face
        self._face = hb.Face(blob_of(face.path, face.data), face.index)
        self._font = hb.Font(self._face)
        varied = _variations(self._face, want)
        if varied:
            self._font.set_variations(varied)
        self.units = float(self._face.upem)
        extents = self._font.get_font_extents("ltr")
        self.ascent, self.descent = float(extents.ascender), float(-extents.descender)
        self.outline = lru_cache(4096)(self._outline)

    def has(self, character: str) -> bool:
        """Test whether the face draws a character."""
        return bool(self._font.get_nominal_glyph(ord(character)))

    @cached_property
    def has_small_capitals(self) -> bool:
        """Test whether the feature smcp changes small letters."""
        styles = (ShapingStyle(), ShapingStyle(features=(("smcp", 1),)))
        plain, small = (self.shape(ascii_lowercase, 0, 26, style) for style in styles)
        return plain != small

    def shape(self, text: str, start: int, stop: int, style: ShapingStyle) -> list[Glyph]:
        """The glyphs of a part of a text from left to right, in the context of the rest."""
        buffer = hb.Buffer()
        buffer.add_codepoints([ord(character) for character in text], start, stop - start)
        buffer.direction = "rtl" if style.level % 2 else "ltr"
        buffer.script = style.script
        buffer.language = style.language
        hb.shape(self._font, buffer, dict(style.features))
        return [
            Glyph(info.codepoint, info.cluster, at.x_advance, at.x_offset, at.y_offset)
            for info, at in zip(buffer.glyph_infos, buffer.glyph_positions, strict=True)
        ]

    def _outline(self, number: int) -> tuple[GlyphSegment, ...]:
        found: list[GlyphSegment] = []
        self._font.draw_glyph(number, _PENS, found)
        return tuple(found)

    @cached_property
    def x_height(self) -> float:
        """Height of small letters."""
        held = self._font.get_metric_position(hb.OTMetricsTag.X_HEIGHT)
        if held:
            return float(held)
        glyph = self._font.get_nominal_glyph(ord("x"))
        extents = self._font.get_glyph_extents(glyph) if glyph else None
        return float(extents.y_bearing) if extents else self.ascent * _MIDDLE_OF_X


def _variations(face: hb.Face, want: FontRequest) -> Mapping[str, float]:
    wished = {"wght": want.weight, "wdth": want.width}
    if want.slanted:
        wished |= {"ital": _SWITCHED_ON, "slnt": _SLANT}
    return {
        axis.tag: min(max(wished[axis.tag], axis.min_value), axis.max_value)
        for axis in face.axis_infos
        if axis.tag in wished
    }


def _pens() -> hb.DrawFuncs:
    pens = hb.DrawFuncs()

    def add(kind: str, found: list[GlyphSegment], at: Sequence[float]) -> None:
        found.append((kind, tuple(at)))

    pens.set_move_to_func(lambda x, y, found: add("M", found, (x, y)))
    pens.set_line_to_func(lambda x, y, found: add("L", found, (x, y)))
    pens.set_cubic_to_func(lambda a, b, c, d, x, y, found: add("C", found, (a, b, c, d, x, y)))
    pens.set_close_path_func(lambda found: add("Z", found, ()))
    return pens


_PENS = _pens()
