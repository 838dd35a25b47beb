"""Details that are too small to see in the picture: the three largest, enlarged below it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import MultiLineString, MultiPolygon, Polygon, box

from preprocess.geometry.base.normalise import as_area, as_lines
from preprocess.preview.drawing.canvas import (
    INK,
    TEXT_SIZE,
    Paint,
    Viewport,
    group,
    path,
    rectangle,
    text,
)
from preprocess.preview.drawing.page_layout import MARGIN, RULE, WIDTH, round_length, scale_bar
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.preview.drawing.entries import LegendEntry
    from preprocess.preview.overlay.difference import Difference

_MOST = 3
_GAP = 6.0
INSET_SIDE = (WIDTH - 2 * MARGIN - (_MOST - 1) * _GAP) / _MOST
"""mm on the sheet along an inset."""

_FAINT = 1.0
"""mm on the sheet: what is narrower than this on average cannot be judged by eye."""

_ROOM = 4.0
"""An inset is so many times as wide as the change in its middle."""

_LEAST, _GAIN = 0.6, 3.0
"""mm of the artwork that an inset shows at least; an inset enlarges at least so many times."""

_ROWS = 14.0
"""Rows of lines that an inset of a hatched area shows."""

_FLAG = (3.6, 4.2)
_APART = 9.0
"""mm on the sheet between two marked places, so that their flags keep apart."""


@dataclass(frozen=True, slots=True)
class Detail:
    """A square of the artwork: its middle and its side, mm."""

    x: float
    y: float
    side: float

    @property
    def window(self) -> Polygon:
        """The square itself."""
        half = self.side / 2
        return box(self.x - half, self.y - half, self.x + half, self.y + half)


def choose_details(found: Difference, scale: float) -> tuple[list[Detail], int]:
    """The places to enlarge, the largest change first, and how many small changes there are.

    Args:
        found: what differs.
        scale: sheet mm per mm of the picture.
    """
    small = _small([found.removed, found.added, found.twice], scale)
    widest = INSET_SIDE / (_GAIN * scale)
    chosen = _hatched(found, widest)
    for piece in small:
        left, top, right, bottom = piece.bounds
        side = min(max(_ROOM * max(right - left, bottom - top), _LEAST), widest)
        one = Detail((left + right) / 2, (top + bottom) / 2, side)
        if len(chosen) < _MOST and all(_far(one, other, scale) for other in chosen):
            chosen.append(one)
    return chosen, len(small) + (not found.hatched.is_empty)


def _small(areas: Sequence[MultiPolygon], scale: float) -> list[Polygon]:
    """Pieces that are too thin on the sheet, by size, then from the top left on."""
    parts = np.concatenate([shapely.get_parts(area) for area in areas])
    if not len(parts):
        return []
    sizes = shapely.area(parts)
    thin = 2 * sizes * scale < _FAINT * shapely.length(parts)
    left, top, _, _ = shapely.bounds(parts).T
    order = np.lexsort((left, top, -np.round(sizes, 6)))
    return [parts[i] for i in order if thin[i]]


def _hatched(found: Difference, widest: float) -> list[Detail]:
    if found.hatched.is_empty:
        return []
    largest = max(found.hatched.geoms, key=lambda polygon: polygon.area)
    middle = shapely.point_on_surface(largest)
    return [Detail(middle.x, middle.y, min(max(_ROWS * found.spacing, _LEAST), widest))]


def _far(one: Detail, other: Detail, scale: float) -> bool:
    reach = (one.side + other.side) / 2 + _APART / scale
    return max(abs(one.x - other.x), abs(one.y - other.y)) > reach


def detail_flags(chosen: Sequence[Detail], placed: Viewport) -> list[str]:
    """Frames and numbers in the picture at the places that are enlarged."""
    lines: list[str] = []
    for number, detail in enumerate(chosen, 1):
        left, top, right, bottom = placed.on_sheet(detail.window).bounds
        wide, high = _FLAG
        x = left - wide if left - wide > MARGIN else right
        y = max(top - high, MARGIN)
        drawn = path(
            rectangle(left, top, right - left, bottom - top), Paint(stroke="#ffffff", width=0.8)
        )
        drawn += path(
            rectangle(left, top, right - left, bottom - top), Paint(stroke=INK, width=0.35)
        )
        drawn += path(rectangle(x, y, wide, high), Paint(fill="#ffffff", stroke=INK, width=0.25))
        drawn.append(text(x + 0.9, y + high - 1.05, f"{number}", bold=True))
        lines += group(f"place-{number}", f"Place {number}, enlarged below", drawn)
    return lines


def inset_row(
    chosen: Sequence[Detail], count: int, entries: Sequence[LegendEntry], y: float
) -> tuple[list[str], float]:
    """The enlarged places from y downward, and where they end."""
    if not chosen:
        return [], y
    words = "Changes too small to see above, enlarged"
    words += f"; {len(chosen)} of {count} such places" if count > len(chosen) else ""
    lines = [text(MARGIN, y + TEXT_SIZE, words, bold=True)]
    y += TEXT_SIZE + 3.0
    for index, detail in enumerate(chosen):
        lines += _inset(index, detail, entries, MARGIN + index * (INSET_SIDE + _GAP), y)
    return group("details", words, lines), y + INSET_SIDE + 2 * TEXT_SIZE + 6.0


def _inset(
    index: int, detail: Detail, entries: Sequence[LegendEntry], x: float, y: float
) -> list[str]:
    scale = INSET_SIDE / detail.side
    half = detail.side / 2
    view = Viewport(scale=scale, origin=(detail.x - half, detail.y - half), corner=(x, y))
    lines = []
    for number, entry in enumerate(entries):
        lines += _clipped(entry, detail.window).drawn(f"detail-{index + 1}-{number}", view)
    frame = rectangle(x, y, INSET_SIDE, INSET_SIDE)
    lines += path(frame, Paint(stroke="#ffffff", width=1.0)) + path(frame, RULE)
    length = round_length(14 / scale)
    below = y + INSET_SIDE + 1.0
    lines += [
        text(x, below + TEXT_SIZE, f"{index + 1}: {digits(scale, 3)} times its size"),
        *scale_bar(x, below + 6.4, length * scale),
        text(x + length * scale + 2, below + TEXT_SIZE + 4.4, f"{digits(length)} mm"),
    ]
    return group(f"detail-{index + 1}", f"Detail {index + 1}", lines)


def _clipped(entry: LegendEntry, window: Polygon) -> LegendEntry:
    inside = shapely.intersection(entry.geometry, window)
    lines = entry.geometry.geom_type == "MultiLineString"
    kept: MultiLineString | MultiPolygon = as_lines(inside) if lines else as_area(inside)
    return replace(entry, geometry=kept, amount="")
