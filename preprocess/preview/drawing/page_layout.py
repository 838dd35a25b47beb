"""The page of a picture: its width, its heading, where the artwork lies, and the scale below it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import shapely

from preprocess.geometry.base.bounds import joint_bounds
from preprocess.geometry.base.row_frame import RowFrame
from preprocess.model.artwork.settings import Direction, Operation
from preprocess.preview.drawing.canvas import (
    INK,
    Paint,
    Viewport,
    group,
    mm,
    paragraph,
    path,
    svg_text,
    text,
)
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from shapely import Polygon

    from preprocess.geometry.base.bounds import Bounds
    from preprocess.model.artwork.artwork import Page
    from preprocess.model.artwork.output import OutputLayer
    from preprocess.preview.drawing.entries import LegendEntry

WIDTH, MARGIN, TALLEST = 180.0, 6.0, 120.0
STRIP = 9.0
RULE = Paint(stroke=INK, width=0.35)
_TITLE = 4.6
_REACH = 3.0
_ARROWS = 2
_PAD = 2.0
_SHRINK = 0.85


def page_bounds(page: Page) -> Bounds:
    """Left, top, right, bottom of a page in mm."""
    return page.left, page.top, page.left + page.width, page.top + page.height


def shown_bounds(entries: Iterable[LegendEntry]) -> Bounds:
    """Joint bounds of the entries that are not hidden, of which one at least has a size."""
    found = joint_bounds(entry.geometry for entry in entries if not entry.hidden)
    return found or (0.0, 0.0, 0.0, 0.0)


def shows_field(field: Polygon | None, marks: Iterable[LegendEntry]) -> bool:
    """Test whether to show the field: it must not shrink the rest much, unless marks leave it."""
    if field is None:
        return False
    box = shapely.box(*shown_bounds(marks))
    both = shapely.union(box, field)
    return not field.covers(box) or _scale(both.bounds) >= _SHRINK * _scale(box.bounds)


def _scale(bounds: Bounds) -> float:
    return page_viewport(bounds, 0.0)[0].scale


def page_viewport(bounds: Bounds, top: float) -> tuple[Viewport, float]:
    """The viewport that centres a box below `top` on the page, and the height it takes in mm."""
    view, (_, _, width, height) = fit_viewport(bounds, WIDTH - 2 * MARGIN, TALLEST, _PAD)
    left = (WIDTH - width) / 2 + _PAD
    corner = (left, top + _PAD)
    return Viewport(scale=view.scale, origin=view.origin, corner=corner), height


def fit_viewport(
    bounds: Bounds, width: float, height: float, margin: float = 1.0
) -> tuple[Viewport, Bounds]:
    """The viewport that shows a box as large as `width` × `height` allows, and what it takes.

    A box without width or height is shown too. Sizes in mm on the page, margin included.
    """
    across, down = max(bounds[2] - bounds[0], 1e-3), max(bounds[3] - bounds[1], 1e-3)
    scale = min((width - 2 * margin) / across, (height - 2 * margin) / down)
    view = Viewport(scale=scale, origin=(bounds[0], bounds[1]), corner=(margin, margin))
    return view, (0.0, 0.0, across * scale + 2 * margin, down * scale + 2 * margin)


def heading(title: str, sentences: Iterable[str]) -> tuple[list[str], float]:
    """Title and sentences at the top of the page, and where they end."""
    room = WIDTH - 2 * MARGIN
    lines, y = paragraph(MARGIN, MARGIN, title, room, size=_TITLE, bold=True)
    for sentence in sentences:
        more, y = paragraph(MARGIN, y, sentence, room)
        lines += more
    return group("head", title, lines), y + 1.0


def page_svg(
    title: str, lines: Iterable[str], height: float, patterns: Iterable[str] = ()
) -> bytes:
    """A page that stands alone as an SVG file."""
    white = f'<rect width="{mm(WIDTH)}" height="{mm(height)}" fill="#ffffff"/>'
    declaration = '<?xml version="1.0" encoding="UTF-8"?>'
    drawn = svg_text(title, [white, *lines], (WIDTH, height), patterns)
    return f"{declaration}\n{drawn}\n".encode()


def scale_strip(scale: float, outputs: Sequence[OutputLayer], y: float) -> list[str]:
    """Scale bar, scale in words, and an arrow for each direction of rows."""
    length = round_length(34 / scale)
    words = f"{digits(length)} mm; drawn {digits(scale, 3)} times its size"
    right = MARGIN + length * scale
    lines = [*scale_bar(MARGIN, y, length * scale), text(right + 2, y + 1, words)]
    found = group("scale", words, lines)
    ways = _directions(outputs)
    if len(ways) > _ARROWS:
        words = f"rows in {len(ways)} directions"
        return [*found, text(WIDTH - MARGIN, y + 1, words, end=True)]
    for index, (angle, direction) in enumerate(ways):
        found += _arrow(angle, direction, (WIDTH - MARGIN - 46 * index, y))
    return found


def scale_bar(left: float, y: float, length: float) -> list[str]:
    """A line between two ticks, `length` mm on the page."""
    right = mm(left + length)
    ends = " ".join(f"M{x} {mm(y - 1)} V{mm(y + 1)}" for x in (mm(left), right))
    return path(f"{ends} M{mm(left)} {mm(y)} H{right}", RULE)


def round_length(at_most: float) -> float:
    """The largest of 1, 2, 5 times a power of ten that is not longer."""
    power = 10.0 ** math.floor(math.log10(at_most))
    return max(step * power for step in (1, 2, 5) if step * power <= at_most)


def _directions(outputs: Sequence[OutputLayer]) -> list[tuple[float, Direction]]:
    """Directions of the rows, each once."""
    engraved = [o.settings for o in outputs if o.operation is Operation.ENGRAVE]
    ways = ((s.angle, s.direction or Direction.ONE_WAY) for s in engraved if s.angle is not None)
    return list(dict.fromkeys(ways))


def _arrow(angle: float, direction: Direction, end: tuple[float, float]) -> list[str]:
    words = f"rows at {digits(angle)}°, {direction}"
    x, y = end[0] - 36, end[1]
    heads = (1, -1) if direction is Direction.TWO_WAY else (1,)
    right, down = RowFrame(angle).to_xy(_REACH, 0.0)
    data = f"M{mm(x - right)} {mm(y - down)} L{mm(x + right)} {mm(y + down)}"
    for way in heads:
        data += _head(x + way * right, y + way * down, angle + (0 if way > 0 else 180))
    lines = [*path(data, RULE), text(x + 4.5, y + 1, words)]
    return group(f"rows-{digits(angle)}-{direction}", words, lines)


def _head(x: float, y: float, angle: float) -> str:
    ends = []
    for side in (150.0, -150.0):
        right, down = RowFrame(angle + side).to_xy(1.4, 0.0)
        ends.append(f"{mm(x + right)} {mm(y + down)}")
    return f" M{ends[0]} L{mm(x)} {mm(y)} L{ends[1]}"
