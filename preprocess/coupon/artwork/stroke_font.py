"""A single-stroke font for labels: capital letters, digits, signs and space, of straight lines.

Each character fills a box of 4 by 6, x to the right and y down. Zero has a bar, unlike D.
"""

from __future__ import annotations

import unicodedata

from shapely import MultiLineString
from shapely.affinity import affine_transform

_WIDE, _HIGH, _GAP = 4.0, 6.0, 2.0

_BOWL = "4,1 3,0 1,0 0,1 0,5 1,6 3,6 4,5"
_RING = "1,0 0,1 0,5 1,6 3,6 4,5 4,1 3,0 1,0"
_FLAG = "0,6 0,0 3,0 4,1 4,2 3,3 0,3"
_STROKES: dict[str, tuple[str, ...]] = {
    "A": ("0,6 0,2 2,0 4,2 4,6", "0,4 4,4"),
    "B": ("0,3 3,3 4,2 4,1 3,0 0,0 0,6 3,6 4,5 4,4 3,3",),
    "C": (_BOWL,),
    "D": ("0,0 0,6 2.5,6 4,4.5 4,1.5 2.5,0 0,0",),
    "E": ("4,0 0,0 0,6 4,6", "0,3 3,3"),
    "F": ("4,0 0,0 0,6", "0,3 3,3"),
    "G": (f"{_BOWL} 4,3 2,3",),
    "H": ("0,0 0,6", "4,0 4,6", "0,3 4,3"),
    "I": ("1,0 3,0", "2,0 2,6", "1,6 3,6"),
    "J": ("4,0 4,5 3,6 1,6 0,5",),
    "K": ("0,0 0,6", "4,0 0,3 4,6"),
    "L": ("0,0 0,6 4,6",),
    "M": ("0,6 0,0 2,3 4,0 4,6",),
    "N": ("0,6 0,0 4,6 4,0",),
    "O": (_RING,),
    "P": (_FLAG,),
    "Q": (_RING, "2.5,4.5 4,6"),
    "R": (_FLAG, "2,3 4,6"),
    "S": ("4,1 3,0 1,0 0,1 0,2 1,3 3,3 4,4 4,5 3,6 1,6 0,5",),
    "T": ("0,0 4,0", "2,0 2,6"),
    "U": ("0,0 0,5 1,6 3,6 4,5 4,0",),
    "V": ("0,0 2,6 4,0",),
    "W": ("0,0 1,6 2,3 3,6 4,0",),
    "X": ("0,0 4,6", "4,0 0,6"),
    "Y": ("0,0 2,3 4,0", "2,3 2,6"),
    "Z": ("0,0 4,0 0,6 4,6",),
    "-": ("1,3 3,3",),
    " ": (),
    "0": (_RING, "1.2,4 2.8,2"),
    "1": ("1,1 2,0 2,6", "1,6 3,6"),
    "2": ("0,1 1,0 3,0 4,1 4,2 0,6 4,6",),
    "3": ("0,1 1,0 3,0 4,1 4,2 3,3 4,4 4,5 3,6 1,6 0,5", "1.5,3 3,3"),
    "4": ("3,6 3,0 0,4 4,4",),
    "5": ("4,0 0,0 0,3 3,3 4,4 4,5 3,6 0,6",),
    "6": ("3,0 1,0 0,1 0,5 1,6 3,6 4,5 4,4 3,3 0,3",),
    "7": ("0,0 4,0 1,6",),
    "8": ("1,3 0,2 0,1 1,0 3,0 4,1 4,2 3,3 4,4 4,5 3,6 1,6 0,5 0,4 1,3 3,3",),
    "9": ("1,6 3,6 4,5 4,1 3,0 1,0 0,1 0,2 1,3 4,3",),
}

_SIGNS: dict[str, tuple[str, ...]] = {"+": ("0.5,3 3.5,3", "2,1.5 2,4.5"), ".": ("1.5,6 2.5,6",)}
"""Signs of numbers only: names leave them out."""


def stroke_lettering(words: str, height: float) -> MultiLineString:
    """The strokes of a word, `height` mm tall, with its upper left corner at the origin.

    Raises:
        KeyError: a character is not among those known.
    """
    scale, known = height / _HIGH, _STROKES | _SIGNS
    lines = [
        [(px + place * (_WIDE + _GAP), py) for px, py in _points(stroke)]
        for place, character in enumerate(words)
        for stroke in known[character]
    ]
    return affine_transform(MultiLineString(lines), (scale, 0.0, 0.0, scale, 0.0, 0.0))


def letterable(words: str) -> str:
    """The words in letters of this font: capitals without accents, others left out."""
    plain = unicodedata.normalize("NFKD", words.replace("_", " ")).upper()
    return " ".join("".join(one for one in plain if one in _STROKES).split())


def lettering_width(words: str, height: float) -> float:
    """Width of a word, mm."""
    return (len(words) * (_WIDE + _GAP) - _GAP) * height / _HIGH


def _points(stroke: str) -> list[tuple[float, float]]:
    pairs = (pair.split(",") for pair in stroke.split())
    return [(float(x), float(y)) for x, y in pairs]
