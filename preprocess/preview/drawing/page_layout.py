"""The picture of an overlay: how large, where on the sheet, and its strip with the scale."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import shapely

from preprocess.geometry.base.row_frame import RowFrame
from preprocess.model.artwork.settings import Direction, Operation
from preprocess.preview.drawing.canvas import INK, Paint, Viewport, group, mm, path, text

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import Polygon

    from preprocess.model.artwork.output import OutputLayer
    from preprocess.preview.drawing.entries import LegendEntry

WIDTH, MARGIN, TALLEST = 180.0, 6.0, 120.0
STRIP = 9.0
_REACH = 3.0
_ARROWS = 2
_PAD = 2.0
_SHRINK = 0.85


def entries_box(entries: Sequence[LegendEntry]) -> tuple[float, float, float, float]:
    """Joint box of what is shown: left, top, right, bottom in mm."""
    boxes = [entry.geometry.bounds for entry in entries if not entry.geometry.is_empty]
    left, top, right, bottom = shapely.total_bounds([shapely.box(*box) for box in boxes])
    return float(left), float(top), float(right), float(bottom)


def shows_field(field: Polygon | None, marks: Sequence[LegendEntry]) -> bool:
    """Whether to show the field: it must not make the rest much smaller, unless marks leave it."""
    if field is None:
        return False
    box = shapely.box(*entries_box(marks))
    wide = shapely.union(box, field)
    return not field.covers(box) or _scale(wide.bounds) >= _SHRINK * _scale(box.bounds)


def sheet_viewport(box: tuple[float, float, float, float], top: float) -> tuple[Viewport, float]:
    """The frame that centres a box below `top` on the sheet, and the height it takes in mm."""
    scale = _scale(box)
    width, height = (box[2] - box[0]) * scale, (box[3] - box[1]) * scale
    corner = ((WIDTH - width) / 2, top + _PAD)
    return Viewport(scale=scale, origin=(box[0], box[1]), corner=corner), height + 2 * _PAD


def scale_strip(scale: float, outputs: Sequence[OutputLayer], y: float) -> list[str]:
    """Scale bar, scale in words, and an arrow for each direction of rows."""
    length = round_length(34 / scale)
    left, right = MARGIN, MARGIN + length * scale
    bar = f"M{mm(left)} {mm(y - 1)} V{mm(y + 1)} M{mm(left)} {mm(y)} H{mm(right)}"
    bar += f" M{mm(right)} {mm(y - 1)} V{mm(y + 1)}"
    words = f"{length:g} mm; drawn {scale:.3g} times its size"
    lines = [*path(bar, Paint(stroke=INK, width=0.35)), text(right + 2, y + 1, words)]
    found = group("scale", words, lines)
    ways = _directions(outputs)
    if len(ways) > _ARROWS:
        words = f"rows in {len(ways)} directions"
        return [*found, text(WIDTH - MARGIN, y + 1, words, end=True)]
    for index, (angle, direction) in enumerate(ways):
        found += _arrow(angle, direction, (WIDTH - MARGIN - 46 * index, y))
    return found


def _directions(outputs: Sequence[OutputLayer]) -> list[tuple[float, Direction]]:
    """Directions of the rows, each once."""
    engraved = [o.settings for o in outputs if o.operation is Operation.ENGRAVE]
    ways = ((s.angle, s.direction or Direction.ONE_WAY) for s in engraved if s.angle is not None)
    return list(dict.fromkeys(ways))


def _arrow(angle: float, direction: Direction, end: tuple[float, float]) -> list[str]:
    words = f"rows at {angle:g}°, {direction}"
    x, y = end[0] - 36, end[1]
    heads = (1, -1) if direction is Direction.TWO_WAY else (1,)
    right, down = RowFrame(angle).to_xy(_REACH, 0.0)
    data = f"M{mm(x - right)} {mm(y - down)} L{mm(x + right)} {mm(y + down)}"
    for way in heads:
        data += _head(x + way * right, y + way * down, angle + (0 if way > 0 else 180))
    lines = [*path(data, Paint(stroke=INK, width=0.35)), text(x + 4.5, y + 1, words)]
    return group(f"rows-{angle:g}-{direction}", words, lines)


def _head(x: float, y: float, angle: float) -> str:
    ends = []
    for side in (150.0, -150.0):
        right, down = RowFrame(angle + side).to_xy(1.4, 0.0)
        ends.append(f"{mm(x + right)} {mm(y + down)}")
    return f" M{ends[0]} L{mm(x)} {mm(y)} L{ends[1]}"


def _scale(box: tuple[float, float, float, float]) -> float:
    """Sheet mm per mm; a drawing without width or height gets one that can be shown."""
    width, height = max(box[2] - box[0], 1e-3), max(box[3] - box[1], 1e-3)
    return min((WIDTH - 2 * MARGIN - 2 * _PAD) / width, (TALLEST - 2 * _PAD) / height)


def round_length(at_most: float) -> float:
    """The largest of 1, 2, 5 times a power of ten that is not longer."""
    power = 10.0 ** math.floor(math.log10(at_most))
    return max(step * power for step in (1, 2, 5) if step * power <= at_most)
