"""Room for bars beside the part, and proposals that fit when there is too little."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.errors import Refusal
from preprocess.geometry.base.row_frame import RowFrame
from preprocess.geometry.overlay.booleans import union
from preprocess.passes.equalize_width.lay_out import all_bars
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from shapely import MultiPolygon, Polygon

    from preprocess.arrays import Floats
    from preprocess.passes.equalize_width.bar_wish import BarWish
    from preprocess.passes.equalize_width.clearance import Obstacles
    from preprocess.passes.equalize_width.lay_out import GroupBars
    from preprocess.passes.equalize_width.telecentric_error import TelecentricError


_OTHER_ANGLES = range(0, 180, 15)
"""Scan angles in degrees tried when bars have no room."""

_SLACK = 1e-3
"""mm by which a bar may pass the margin of the field, to allow for rounding."""

_TENTH = 0.1
"""Lengths are proposed in whole tenths of a mm."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PartExtent:
    """The parts seen along the rows: middle and width of their joint box, mm.

    `clearance` is the distance of the innermost bars from that box, `grown` its share for the
    `slant` of the beam, `axis` the position of the optical axis along the rows.
    """

    middle: float
    width: float
    clearance: float
    grown: float
    axis: float
    slant: TelecentricError

    def span(self, bar: float) -> float:
        """Distance between the outer edges of the innermost bars, mm."""
        return self.width + 2 * (self.clearance + bar)

    def beyond(self, span: float) -> float:
        """Distance, mm, by which light of a span (mm) lands outside its bars, spot included."""
        off = abs(self.middle - self.axis)
        return self.slant.shift(span / 2 + off) + self.slant.half_spot


def part_extent(obstacles: Obstacles, angle: float) -> PartExtent:
    """Width of the parts along the rows, and the clearance that their bars need.

    On a side where a bar stands between part and optical axis (a point of the page) the light
    lands nearer to the part, by height × distance from the axis / focal length, and as a wider
    spot: both are added to the clearance, alike on both sides, so that bars stay symmetric. On
    the other side it lands farther out, and the backing must reach there.
    """
    slant = obstacles.slant
    left, _, right, _ = RowFrame(angle).to_rows(union(obstacles.parts)).bounds
    at, _ = RowFrame(angle).to_uv(*slant.axis)
    grown = max(0.0, *(slant.shift(x) + slant.half_spot for x in (left - at, at - right)))
    return PartExtent(
        middle=(left + right) / 2,
        width=right - left,
        clearance=obstacles.clearance + grown,
        grown=grown,
        axis=at,
        slant=slant,
    )


def expect_room(
    barred: Sequence[GroupBars], parts: MultiPolygon, field: Polygon | None, wish: BarWish
) -> None:
    """Expect all bars to lie in the field, a margin away from its edge.

    Raises:
        Refusal: they do not; it gives the clearance, bar, angles or field that fit.
    """
    if field is None:
        return
    corners = shapely.get_coordinates(all_bars(barred))
    left, top, right, bottom = field.bounds
    inner = wish.field_margin - _SLACK
    room = (left + inner, top + inner, right - inner, bottom - inner)
    if _fits(corners, room):
        return
    middle = ((left + right) / 2, (top + bottom) / 2)
    width, height = 2 * (np.abs(corners - np.asarray(middle)).max(axis=0) + wish.field_margin)
    widest = max(entry.span for entry in barred)
    raise Refusal(
        f"bars have no room: with them rows are {widest:.2f} mm wide, and the field of "
        f"{digits(right - left)} × {digits(bottom - top)} mm needs a margin of "
        f"{digits(wish.field_margin)} mm",
        "use one that fits: " + "; ".join(_proposals(barred, parts, room, wish, (width, height))),
    )


def _proposals(
    barred: Sequence[GroupBars],
    parts: MultiPolygon,
    room: tuple[float, ...],
    wish: BarWish,
    needed: tuple[float, float],
) -> Iterator[str]:
    for clearance in _tenths_below(wish.clearance, 0) if wish.span is None else []:
        if _fits(_narrowed(barred, wish.clearance - clearance, 0.0), room):
            yield f"a clearance of up to {digits(clearance)} mm"
            break
    for bar in _tenths_below(wish.bar, 1) if wish.span is None else []:
        if _fits(_narrowed(barred, 0.0, wish.bar - bar), room):
            yield f"bars of up to {digits(bar)} mm"
            break
    angles = [a for a in _OTHER_ANGLES if _fits(_at_angle(barred, parts, a, wish), room)]
    if angles:
        yield "rows at " + " or ".join(f"{angle} deg" for angle in angles)
    yield f"a field of {needed[0]:.2f} × {needed[1]:.2f} mm"


def _tenths_below(length: float, least: int) -> list[float]:
    """Whole tenths of a mm below a length, the largest first."""
    return [round(n * _TENTH, 1) for n in range(int(length / _TENTH + 1e-9), least - 1, -1)]


def _fits(corners: Floats, room: tuple[float, ...]) -> bool:
    low, high = corners.min(axis=0), corners.max(axis=0)
    return bool((low >= room[:2]).all() and (high <= room[2:]).all())


def _narrowed(barred: Sequence[GroupBars], clearance: float, bar: float) -> Floats:
    """Corners of all lanes with clearance and bar smaller by these lengths."""
    return np.concatenate(
        [
            _frame(entry.bars, entry.group.angle, entry.centre, entry.span - 2 * less)
            for entry in barred
            if not entry.bars.is_empty
            for less in (clearance + bar * (1 + entry.lane),)
        ]
    )


def _at_angle(
    barred: Sequence[GroupBars], parts: MultiPolygon, angle: float, wish: BarWish
) -> Floats:
    lanes = max(entry.lane for entry in barred)
    left, _, right, _ = RowFrame(angle).to_rows(parts).bounds
    span = right - left + 2 * (wish.clearance + wish.bar + lanes * (wish.bar + wish.gap))
    art = union([entry.group.area for entry in barred])
    return _frame(art, angle, (left + right) / 2, span)


def _frame(area: MultiPolygon, angle: float, middle: float, span: float) -> Floats:
    """On the page, corners of a frame as wide as the span and as high as an area (4 × 2)."""
    _, top, _, bottom = RowFrame(angle).to_rows(area).bounds
    u = middle + span / 2 * np.array([-1.0, 1.0, -1.0, 1.0])
    v = np.array([top, top, bottom, bottom])
    return np.stack(RowFrame(angle).to_xy(u, v), axis=1)
