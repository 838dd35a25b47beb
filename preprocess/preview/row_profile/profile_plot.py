"""The row profile: span, lit length and return time of the rows, down the drawing, before/after.

Each quantity has a plot of its own, 60 mm wide. The drawing runs downward as on the page. A band
reaches from the smallest to the largest value at each height: filled within a solid line after,
within a dashed line before.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from preprocess.preview.drawing.canvas import Paint, group, path, svg_text, text
from preprocess.preview.drawing.plot_axis import PlotAxis, PlotFrame
from preprocess.preview.row_profile.envelopes import envelopes, step_for

if TYPE_CHECKING:
    from preprocess.arrays import Floats
    from preprocess.preview.row_profile.profile_rows import LayerRows, ProfileRows


WIDE, HIGH = 60.0, 40.0
LEFT, RIGHT, TOP, BOTTOM = 9.0, 4.0, 6.0, 6.0
BEFORE_PAINT = Paint(stroke="#a04000", width=0.4, dash="1.3 0.9")
AFTER_PAINT = Paint(fill="#a8cfe8", stroke="#00466e", width=0.4)


@dataclass(frozen=True, slots=True)
class _Quantity:
    """Quantity of one plot: its name, its unit, and how many of these are one of the rows' own."""

    field: str
    name: str
    unit: str
    factor: float = 1.0


_QUANTITIES = (
    _Quantity("span", "Row span", "mm"),
    _Quantity("lit", "Lit length", "mm"),
    _Quantity("returns", "Return time", "ms", 1e3),
)


def profile_plots(rows: LayerRows) -> list[str]:
    """One SVG for each quantity of a layer."""
    return [_plot(rows, quantity) for quantity in _QUANTITIES]


def _plot(rows: LayerRows, quantity: _Quantity) -> str:
    """One plot as an SVG of its own."""
    title = f"{rows.layer}: {quantity.name.lower()} down the drawing, in {quantity.unit}"
    sides = [_values(side, quantity) for side in (rows.after, rows.before)]
    largest = max((float(np.nanmax(v)) for v in sides if np.isfinite(v).any()), default=0.0)
    head = text(LEFT, TOP - 2, f"{quantity.name}, {quantity.unit}", bold=True)
    if largest <= 0:
        words = _nothing(rows.after)
        return svg_text(title, [head, text(LEFT, TOP + 8, words)], (WIDE, HIGH))
    extent = _extent(rows)
    axes = PlotAxis.linear(0.0, largest), PlotAxis.linear(*extent)
    frame = PlotFrame(LEFT, TOP, WIDE - LEFT - RIGHT, HIGH - TOP - BOTTOM, *axes)
    ticks = [*frame.across_ticks, *frame.down_ticks]
    lines = [head, *(line for line, _ in ticks), *frame.axes, *(number for _, number in ticks)]
    high = step_for(extent, max(rows.before.pitch, rows.after.pitch))
    for side, values, paint, name in zip(
        (rows.after, rows.before),
        sides,
        (AFTER_PAINT, BEFORE_PAINT),
        ("after", "before"),
        strict=True,
    ):
        drawn = envelopes(side.at, values, extent[0], high)
        data = " ".join(frame.area(band.outline()) for band in drawn)
        lines += group(name, name, path(data, paint)) if data else []
    return svg_text(title, lines, (WIDE, HIGH))


def _nothing(rows: ProfileRows) -> str:
    if not len(rows):
        return "no rows"
    return "no neighbours in one sweep" if rows.has_speed else "not known: no speed is set"


def _values(rows: ProfileRows, quantity: _Quantity) -> Floats:
    return np.asarray(getattr(rows, quantity.field) * quantity.factor, dtype=np.float64)


def _extent(rows: LayerRows) -> tuple[float, float]:
    """From the first row to the end of the last, mm."""
    at = np.concatenate([rows.before.at, rows.after.at])
    return float(at.min()), float(at.max()) + max(rows.before.pitch, rows.after.pitch)
