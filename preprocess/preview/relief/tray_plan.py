"""The plan of a tray to print: what it holds and where, with the numbers of seats."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import shapely

from preprocess.preview.drawing.canvas import LEADING, Paint, Viewport, path, svg_text, text
from preprocess.preview.drawing.fill_patterns import fill_pattern

if TYPE_CHECKING:
    from shapely import Geometry, MultiPolygon

_MARGIN, _WIDTH, _MOST = 8.0, 180.0, 3.0
"""mm of the sheet: margin and width; the tray is drawn at three times its size at most."""

_HEAD, _TEXT = 4.2, 3.0


@dataclass(frozen=True, slots=True, kw_only=True)
class TrayPlan:
    """Areas of a tray in artwork coordinates; heights of floor, top and marked surface, mm."""

    title: str
    plate: MultiPolygon
    pockets: MultiPolygon
    parts: tuple[MultiPolygon, ...]
    slots: MultiPolygon
    notches: MultiPolygon
    holes: MultiPolygon
    crosses: MultiPolygon
    seats: int
    heights: tuple[float, float, float]


def tray_plan_svg(plan: TrayPlan) -> bytes:
    """The plan as SVG, 180 mm wide at most, its scale stated."""
    left, top, right, bottom = plan.plate.bounds
    scale = min(_MOST, (_WIDTH - 2 * _MARGIN) / (right - left))
    y = _MARGIN + _HEAD * LEADING
    view = Viewport(scale=scale, origin=(left, top), corner=(_MARGIN, y))
    lines = [text(_MARGIN, _MARGIN + _HEAD / 2, f"{plan.title}: tray", size=_HEAD, bold=True)]
    for area, paint in _painted(plan):
        lines += path(view.data(area), paint) if not area.is_empty else []
    lines += _numbers(plan, view)
    y += (bottom - top) * scale + _TEXT * LEADING
    for sentence in _sentences(plan, scale):
        y += _TEXT * LEADING
        lines.append(text(_MARGIN, y, sentence, size=_TEXT))
    size = (_WIDTH, y + _MARGIN)
    patterns = [fill_pattern("card", "rising", "#8a6d3b")]
    return svg_text(f"{plan.title}: tray", lines, size, patterns).encode()


def _painted(plan: TrayPlan) -> list[tuple[Geometry, Paint]]:
    line = "#333333"
    return [
        (plan.plate, Paint(fill="#e9e9e4", stroke=line, width=0.3)),
        (plan.slots, Paint(fill="#f6ead2", pattern="card", stroke=line, width=0.2)),
        (plan.notches, Paint(fill="#cfd4d8", stroke=line, width=0.2)),
        (plan.pockets, Paint(fill="#b7c0c8", stroke=line, width=0.3)),
        (shapely.multipolygons(shapely.get_parts(list(plan.parts))), _PART),
        (plan.holes, Paint(fill="#ffffff", stroke=line, width=0.2, dash="0.8 0.6")),
        (plan.crosses, Paint(fill=line)),
    ]


_PART = Paint(fill="#f3eee0", stroke="#4d4d4d", width=0.2)


def _numbers(plan: TrayPlan, view: Viewport) -> list[str]:
    """The number of each seat on its part, counted row by row from the upper left."""
    if plan.seats < 2 or len(plan.parts) % plan.seats:  # noqa: PLR2004 - one needs no number
        return []
    each = len(plan.parts) // plan.seats
    lines = []
    for seat in range(plan.seats):
        boxes = shapely.total_bounds(plan.parts[seat * each : (seat + 1) * each])
        corner = view.on_sheet(shapely.Point(boxes[0], boxes[1]))
        lines.append(text(corner.x + 2.5, corner.y + 5, str(seat + 1), size=_HEAD, bold=True))
    return lines


def _sentences(plan: TrayPlan, scale: float) -> list[str]:
    floor, top, surface = plan.heights
    left, up, right, down = plan.plate.bounds
    size = f"{right - left:.1f} × {down - up:.1f} mm, {top:.1f} mm high"
    found = [
        f"Drawn at {scale:.2f} times its size: {size}.",
        f"The parts stand {floor:.1f} mm above the bed, their marked surface {surface:.2f} mm.",
        "Dashed: holes through the floor, to push parts out; they open onto the bed.",
    ]
    if not plan.notches.is_empty:
        found.append("Half discs: notches for fingers.")
    found.append("Crosses: bring both under the aiming light, with the marking beam off.")
    if not plan.slots.is_empty:
        found.insert(2, "Hatched: slots for matt card, flush with the marked surface.")
    return found
