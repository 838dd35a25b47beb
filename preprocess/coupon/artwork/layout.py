"""Where the cells of a coupon lie on its plate; the upper left corner of the plate is 0, 0."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import shapely
from shapely import MultiLineString, MultiPolygon, box

from preprocess.coupon.artwork.letters import lettering, width_of
from preprocess.coupon.artwork.pieces import LETTERS, Drawn
from preprocess.coupon.artwork.shapes import moved

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from preprocess.coupon.artwork.pieces import Bands, Piece

LETTER = 1.6
"""Height of the labels, mm."""

MARGIN = 1.5
"""mm from the edge of the plate to what is marked."""

_BETWEEN = 2.0
"""mm between two cells of a band: so far warmth does not get."""

_ABOVE = 0.7
"""mm from a label down to its cell."""

_BELOW = 1.2
"""mm from a cell down to the next label."""

_BAR = 0.6
"""Width of a bar, mm."""

_AT_EDGE = 1.0
"""mm from the edge of the plate to a blade that has a bar."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """One cell in its place, with its label."""

    name: str
    setting: int
    size: Mapping[str, float]
    shapes: tuple[Drawn, ...]
    label: MultiLineString
    bars: MultiPolygon | None = None


def laid_out(bands: Bands, plate: tuple[float, float], room_below: float) -> tuple[Placed, ...]:
    """Put the bands one below the other, in the middle of the plate.

    Args:
        bands: cells, band by band.
        plate: width and height, mm.
        room_below: height that is kept free below the last band, mm.
    """
    placed: list[Placed] = []
    y = 0.0
    for band in bands:
        row = _band(band, y, plate[0])
        placed += row
        y = max(float(shapely.total_bounds([*p.shapes, p.label])[3]) for p in row) + _BELOW
    left, top, right, bottom = bounds(placed)
    across = 0.0 if any(p.bars for p in placed) else (plate[0] - left - right) / 2
    down = (plate[1] - top - bottom - room_below) / 2
    return tuple(_shifted(p, across, down) for p in placed)


def bounds(placed: Sequence[Placed]) -> tuple[float, float, float, float]:
    """Box of cells and labels, without bars."""
    left, top, right, bottom = shapely.total_bounds(
        [geometry for p in placed for geometry in (*p.shapes, p.label)]
    )
    return float(left), float(top), float(right), float(bottom)


def gauge(across: float, down: float, plate: tuple[float, float]) -> tuple[Placed, ...]:
    """Six lines between four corners: two across, two down, two diagonals, to be measured."""
    x0, y0 = (plate[0] - across) / 2, (plate[1] - down) / 2
    x1, y1 = x0 + across, y0 + down
    ways = [
        ((x0, y0), (x1, y0), 0.5),
        ((x0, y1), (x1, y1), 0.5),
        ((x0, y0), (x0, y1), 0.5),
        ((x1, y0), (x1, y1), 0.5),
        ((x0, y0), (x1, y1), 0.25),
        ((x0, y1), (x1, y0), 0.25),
    ]
    return tuple(_line(number, *way, plate) for number, way in enumerate(ways, 1))


def _line(
    number: int,
    start: tuple[float, float],
    end: tuple[float, float],
    share: float,
    plate: tuple[float, float],
) -> Placed:
    line = MultiLineString([[start, end]])
    x, y = (a + share * (b - a) for a, b in zip(start, end, strict=True))
    name = f"{LETTERS[0]}{number}"
    wide = width_of(name, LETTER)
    slanted = start[0] != end[0] and start[1] != end[1]
    beside = _inward(y, plate[1], LETTER)
    below = y + 1.0 if y > plate[1] / 2 else y - 1.0 - LETTER
    inward = (_inward(x, plate[0], wide), below if slanted else beside)
    label = lettering(name, LETTER, *inward)
    return Placed(
        name=name,
        setting=0,
        size={"length": round(line.length, 3)},
        shapes=(moved(line, 0.0, 0.0),),
        label=moved(label, 0.0, 0.0),
    )


def _inward(at: float, whole: float, size: float) -> float:
    """Where a label begins that stands beside a point, on the side of the plate's middle."""
    middle = whole / 2
    if abs(at - middle) < 1e-6:  # noqa: PLR2004 - on the middle
        return at - size / 2
    return at + 1.0 if at < middle else at - 1.0 - size


def _band(band: Sequence[Piece], y: float, wide: float) -> list[Placed]:
    placed, x = [], 0.0
    for piece in band:
        if piece.variant.bar is not None:
            placed.append(_at_edge(piece, y, wide))
            continue
        placed.append(_below_label(piece, x, y))
        x += max(_width(piece), width_of(piece.name, LETTER)) + _BETWEEN
    return placed


def _width(piece: Piece) -> float:
    return float(shapely.total_bounds(piece.variant.shapes)[2])


def _below_label(piece: Piece, x: float, y: float) -> Placed:
    top = y + LETTER + _ABOVE
    return Placed(
        name=piece.name,
        setting=piece.setting,
        size=piece.variant.size,
        shapes=tuple(moved(shape, x, top) for shape in piece.variant.shapes),
        label=moved(lettering(piece.name, LETTER), x, y),
    )


def _at_edge(piece: Piece, y: float, wide: float) -> Placed:
    variant, width = piece.variant, _width(piece)
    height = float(shapely.total_bounds(variant.shapes)[3])
    text = width_of(piece.name, LETTER)
    left = variant.side < 0
    x = _AT_EDGE if left else wide - _AT_EDGE - width
    beside = x + width + _ABOVE if left else x - _ABOVE - text
    away = _BAR + (variant.bar or 0.0)
    bar = -away if left else wide + away - _BAR
    return Placed(
        name=piece.name,
        setting=piece.setting,
        size=variant.size,
        shapes=tuple(moved(shape, x, y) for shape in variant.shapes),
        label=moved(lettering(piece.name, LETTER), beside, y + (height - LETTER) / 2),
        bars=MultiPolygon([box(bar, y, bar + _BAR, y + height)]),
    )


def _shifted(placed: Placed, x: float, y: float) -> Placed:
    return Placed(
        name=placed.name,
        setting=placed.setting,
        size=placed.size,
        shapes=tuple(moved(shape, x, y) for shape in placed.shapes),
        label=moved(placed.label, x, y),
        bars=None if placed.bars is None else moved(placed.bars, x, y),
    )
