"""A single-stroke font for labels: the letters A to G and digits, of straight lines only.

Each character fills a box of 4 by 6, x to the right and y down. Zero has a bar, unlike D.
"""

from __future__ import annotations

from shapely import MultiLineString
from shapely.affinity import affine_transform

_WIDE, _HIGH, _GAP = 4.0, 6.0, 2.0

_BOWL = "4,1 3,0 1,0 0,1 0,5 1,6 3,6 4,5"
_STROKES = {
    "A": ("0,6 0,2 2,0 4,2 4,6", "0,4 4,4"),
    "B": ("0,3 3,3 4,2 4,1 3,0 0,0 0,6 3,6 4,5 4,4 3,3",),
    "C": (_BOWL,),
    "D": ("0,0 0,6 2.5,6 4,4.5 4,1.5 2.5,0 0,0",),
    "E": ("4,0 0,0 0,6 4,6", "0,3 3,3"),
    "F": ("4,0 0,0 0,6", "0,3 3,3"),
    "G": (f"{_BOWL} 4,3 2,3",),
    "0": ("1,0 0,1 0,5 1,6 3,6 4,5 4,1 3,0 1,0", "1.2,4 2.8,2"),
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


def stroke_lettering(words: str, height: float) -> MultiLineString:
    """The strokes of a word, `height` mm tall, with its upper left corner at the origin.

    Raises:
        KeyError: a character is not among those known.
    """
    scale = height / _HIGH
    lines = [
        [(px + place * (_WIDE + _GAP), py) for px, py in _points(stroke)]
        for place, character in enumerate(words)
        for stroke in _STROKES[character]
    ]
    return affine_transform(MultiLineString(lines), (scale, 0.0, 0.0, scale, 0.0, 0.0))


def lettering_width(words: str, height: float) -> float:
    """Width of a word, mm."""
    return (len(words) * (_WIDE + _GAP) - _GAP) * height / _HIGH


def _points(stroke: str) -> list[tuple[float, float]]:
    pairs = (pair.split(",") for pair in stroke.split())
    return [(float(x), float(y)) for x, y in pairs]
