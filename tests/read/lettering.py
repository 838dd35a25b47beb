"""Fonts of our own, made of boxes and triangles, so that areas and places follow by hand.

1000 units to the em, ascent 800, descent 200, small letters 500 high. `AREAS` are in square units.
"""

from __future__ import annotations

from io import BytesIO
from typing import TYPE_CHECKING

from fontTools.feaLib.builder import addOpenTypeFeaturesFromString
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.ttGlyphPen import TTGlyphPen

if TYPE_CHECKING:
    from pathlib import Path

Points = list[tuple[int, int]]


def box(left: int, bottom: int, right: int, top: int) -> Points:
    """Clockwise, as outer contours of such fonts run."""
    return [(left, bottom), (left, top), (right, top), (right, bottom)]


ALEF, BET = "\u05d0", "\u05d1"

# letter: advance, contours
GLYPHS: dict[str, tuple[int, list[Points]]] = {
    ".notdef": (500, [box(100, 0, 400, 700)]),
    " ": (300, []),
    "f": (400, [box(100, 0, 300, 700)]),
    "e": (500, [box(50, 0, 450, 400)]),
    "r": (400, [[(50, 0), (50, 500), (350, 0)]]),
    "n": (500, [box(50, 0, 450, 500)]),
    "i": (300, [box(100, 0, 200, 500)]),
    # Two boxes that overlap by 100 x 300, as strokes of script letters do.
    "m": (700, [box(0, 0, 400, 300), box(300, 0, 700, 600)]),
    # A ring: its hole runs the other way.
    "o": (600, [box(50, 0, 550, 500), box(150, 100, 450, 400)[::-1]]),
    "(": (300, [box(100, 0, 250, 700)]),
    ")": (300, [[(50, 0), (50, 700), (200, 0)]]),
    "1": (500, [box(200, 0, 300, 600)]),
    ALEF: (600, [[(50, 0), (300, 600), (550, 0)]]),
    BET: (400, [box(50, 0, 350, 500)]),
}
LIGATURE = (500, [box(100, 0, 450, 700)])
"""Stands for f and i side by side."""

KERN = -100
"""Between r and n."""

AREAS = {
    "f": 200 * 700,
    "e": 400 * 400,
    "r": 300 * 500 // 2,
    "n": 400 * 500,
    "i": 100 * 500,
    "m": 400 * 300 + 400 * 600 - 100 * 300,
    "o": 500 * 500 - 300 * 300,
    ALEF: 500 * 600 // 2,
    BET: 300 * 500,
}

_FEATURES = """
feature liga { sub f i by f_i; } liga;
feature kern { pos r n -100; } kern;
"""


def font_bytes(
    family: str = "Fern Test", style: str = "Regular", weight: int = 400, *, more: bool = False
) -> bytes:
    """A font file; bold ones have the same letters, 100 units to the right; `more` adds an ß."""
    builder = _builder(family, style, weight, aside=100 if weight > 600 else 0, more=more)
    addOpenTypeFeaturesFromString(builder.font, _FEATURES)
    return _saved(builder)


def variable_bytes(family: str = "Fern Varied") -> bytes:
    """A font whose f grows from 200 to 400 units in width from weight 400 to 900."""
    from fontTools.ttLib.tables.TupleVariation import TupleVariation

    builder = _builder(family, "Regular", 400, aside=0)
    builder.setupFvar([("wght", 400, 400, 900, "Weight")], [])
    wider = [(0, 0), (0, 0), (200, 0), (200, 0), (0, 0), (200, 0), (0, 0), (0, 0)]
    builder.setupGvar({"f": [TupleVariation({"wght": (0.0, 1.0, 1.0)}, wider)]})
    return _saved(builder)


def _builder(
    family: str, style: str, weight: int, *, aside: int, more: bool = False
) -> FontBuilder:
    letters = GLYPHS | ({"ß": (600, [box(0, 0, 500, 800)])} if more else {})
    glyphs = {_name(key): held for key, held in letters.items()} | {"f_i": LIGATURE}
    builder = FontBuilder(1000, isTTF=True)
    builder.setupGlyphOrder(list(glyphs))
    builder.setupCharacterMap({ord(key): _name(key) for key in letters if len(key) == 1})
    drawn = {name: _drawn(contours, aside) for name, (_, contours) in glyphs.items()}
    builder.setupGlyf(drawn)
    metrics = {
        name: (advance, _left(contours) + (aside if contours else 0))
        for name, (advance, contours) in glyphs.items()
    }
    builder.setupHorizontalMetrics(metrics)
    builder.setupHorizontalHeader(ascent=800, descent=-200)
    full, short = f"{family} {style}", f"{family}-{style}".replace(" ", "")
    names = {"familyName": family, "styleName": style, "fullName": full, "psName": short}
    builder.setupNameTable(names)
    builder.setupOS2(
        sTypoAscender=800,
        sTypoDescender=-200,
        sTypoLineGap=0,
        usWinAscent=800,
        usWinDescent=200,
        sxHeight=500,
        usWeightClass=weight,
        version=4,
    )
    builder.setupPost(underlinePosition=-100, underlineThickness=50)
    return builder


def _left(contours: list[Points]) -> int:
    return min((x for contour in contours for x, _ in contour), default=0)


def _name(key: str) -> str:
    return _NAMES.get(key, key)


_NAMES = {
    " ": "space",
    "(": "left",
    ")": "right",
    "1": "one",
    "ß": "sharp",
    ALEF: "alef",
    BET: "bet",
}


def _drawn(contours: list[Points], aside: int):
    pen = TTGlyphPen(None)
    for contour in contours:
        for at, (x, y) in enumerate(contour):
            (pen.lineTo if at else pen.moveTo)((x + aside, y))
        pen.closePath()
    return pen.glyph()


def _saved(builder: FontBuilder) -> bytes:
    out = BytesIO()
    builder.font.recalcTimestamp = False
    builder.save(out)
    return out.getvalue()


def folder_of_fonts(folder: Path) -> Path:
    """Write the fonts into a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "fern-test.ttf").write_bytes(font_bytes())
    (folder / "fern-test-bold.ttf").write_bytes(font_bytes(style="Bold", weight=700))
    (folder / "fern-varied.ttf").write_bytes(variable_bytes())
    return folder
