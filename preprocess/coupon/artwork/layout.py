"""Places of a coupon's cells on its plate; the upper left corner of the plate is 0, 0."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import shapely
from shapely import MultiLineString, MultiPolygon, box

from preprocess.coupon.artwork.cells import CellVariant, UnplacedCell
from preprocess.coupon.artwork.shapes import translated
from preprocess.coupon.artwork.stroke_font import lettering_width, stroke_lettering
from preprocess.coupon.design.dimensions import LABEL_HEIGHT

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from preprocess.coupon.artwork.cells import CellBands, CellGeometry

    Pair = tuple[float, float]

_BETWEEN = 2.0
"""Gap between two cells of a band, mm: no heat gets across."""

_ABOVE = 0.7
"""Gap from a label down to its cell, mm."""

_BELOW = 1.2
"""Gap from a cell down to the next label, mm."""

_BAR = 0.6
"""Width of a bar, mm."""

_AT_EDGE = 1.0
"""Gap from the edge of the plate to a blade that has a bar, mm."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedCell:
    """One cell in its place, with its label; lengths in mm."""

    name: str
    setting: int
    size: Mapping[str, float]
    shapes: tuple[CellGeometry, ...]
    label: MultiLineString
    bars: MultiPolygon | None = None


def lay_out_bands(bands: CellBands, plate: Pair, room_below: float) -> tuple[PlacedCell, ...]:
    """Put the bands one below the other, in the middle of the plate.

    Args:
        bands: cells, band by band.
        plate: width and height, mm.
        room_below: height that is kept free below the last band, mm.
    """
    placed: list[PlacedCell] = []
    y = 0.0
    for band in bands:
        row = _band(band, y, plate[0])
        placed += row
        y = max(float(shapely.total_bounds([*p.shapes, p.label])[3]) for p in row) + _BELOW
    left, top, right, bottom = cells_bounds(placed)
    across = 0.0 if any(p.bars for p in placed) else (plate[0] - left - right) / 2
    down = (plate[1] - top - bottom - room_below) / 2
    return tuple(_shifted(p, across, down) for p in placed)


def off_the_page_rows(placed: Sequence[PlacedCell], pitch: float) -> tuple[PlacedCell, ...]:
    """Cells moved down, so that rows counted from the page fall 0.3 pitches below the top."""
    top = min(shape.bounds[1] for one in placed for shape in one.shapes)
    down = (0.7 * pitch - top) % pitch
    return tuple(_shifted(one, 0.0, down) for one in placed)


def cells_bounds(placed: Sequence[PlacedCell]) -> tuple[float, float, float, float]:
    """Box of cells and labels, without bars."""
    left, top, right, bottom = shapely.total_bounds(
        [geometry for p in placed for geometry in (*p.shapes, p.label)]
    )
    return float(left), float(top), float(right), float(bottom)


def field_gauge(across: float, down: float, plate: Pair) -> tuple[PlacedCell, ...]:
    """Six lines to measure between four corners: two across, two down, two diagonals."""
    x0, y0 = (plate[0] - across) / 2, (plate[1] - down) / 2
    x1, y1 = x0 + across, y0 + down
    lines = [
        ((x0, y0), (x1, y0), 0.5),
        ((x0, y1), (x1, y1), 0.5),
        ((x0, y0), (x0, y1), 0.5),
        ((x1, y0), (x1, y1), 0.5),
        ((x0, y0), (x1, y1), 0.25),
        ((x0, y1), (x1, y0), 0.25),
    ]
    return tuple(_line(number, *line, plate) for number, line in enumerate(lines))


def _line(number: int, start: Pair, end: Pair, share: float, plate: Pair) -> PlacedCell:
    """One line, labelled at that share of its length."""
    line = MultiLineString([[start, end]])
    variant = CellVariant(shapes=(line,), size={"length": round(line.length, 3)})
    cell = UnplacedCell(setting=0, number=number, variant=variant)
    x, y = (a + share * (b - a) for a, b in zip(start, end, strict=True))
    if start[0] != end[0] and start[1] != end[1]:
        down = y + 1.0 if y > plate[1] / 2 else y - 1.0 - LABEL_HEIGHT
    else:
        down = _inward(y, plate[1], LABEL_HEIGHT)
    across = _inward(x, plate[0], lettering_width(cell.name, LABEL_HEIGHT))
    return _placed(cell, (0.0, 0.0), (across, down))


def _inward(at: float, whole: float, size: float) -> float:
    """Start of a label that stands beside a point, towards the middle of the plate."""
    middle = whole / 2
    if abs(at - middle) < 1e-6:  # noqa: PLR2004 - on the middle
        return at - size / 2
    return at + 1.0 if at < middle else at - 1.0 - size


def _band(band: Sequence[UnplacedCell], y: float, plate_width: float) -> list[PlacedCell]:
    placed, x = [], 0.0
    for cell in band:
        if cell.variant.bar is not None:
            placed.append(_at_edge(cell, cell.variant.bar, y, plate_width))
            continue
        placed.append(_placed(cell, (x, y + LABEL_HEIGHT + _ABOVE), (x, y)))
        width = float(shapely.total_bounds(cell.variant.shapes)[2])
        x += max(width, lettering_width(cell.name, LABEL_HEIGHT)) + _BETWEEN
    return placed


def _at_edge(cell: UnplacedCell, distance: float, y: float, plate_width: float) -> PlacedCell:
    """A cell at the edge of the plate, with its bar beyond the edge and its label beside it."""
    width, height = (float(v) for v in shapely.total_bounds(cell.variant.shapes)[2:])
    left = cell.variant.side < 0
    x = _AT_EDGE if left else plate_width - _AT_EDGE - width
    text = lettering_width(cell.name, LABEL_HEIGHT)
    label_x = x + width + _ABOVE if left else x - _ABOVE - text
    away = _BAR + distance
    bar = -away if left else plate_width + away - _BAR
    return _placed(
        cell,
        (x, y),
        (label_x, y + (height - LABEL_HEIGHT) / 2),
        MultiPolygon([box(bar, y, bar + _BAR, y + height)]),
    )


def _placed(
    cell: UnplacedCell, at: Pair, label_at: Pair, bars: MultiPolygon | None = None
) -> PlacedCell:
    return PlacedCell(
        name=cell.name,
        setting=cell.setting,
        size=cell.variant.size,
        shapes=tuple(translated(shape, *at) for shape in cell.variant.shapes),
        label=translated(stroke_lettering(cell.name, LABEL_HEIGHT), *label_at),
        bars=bars,
    )


def _shifted(placed: PlacedCell, x: float, y: float) -> PlacedCell:
    return replace(
        placed,
        shapes=tuple(translated(shape, x, y) for shape in placed.shapes),
        label=translated(placed.label, x, y),
        bars=None if placed.bars is None else translated(placed.bars, x, y),
    )
