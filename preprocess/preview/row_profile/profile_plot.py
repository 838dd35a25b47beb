"""The row profile: span, lit length and return time of the rows, down the drawing, before/after.

Each quantity has a plot of its own, 60 mm wide. The drawing runs downward as on the page. A band
reaches from the smallest to the largest value at each height: filled within a solid line after,
within a dashed line before.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from preprocess.preview.drawing.canvas import (
    INK,
    TEXT_SIZE,
    Paint,
    group,
    mm,
    path,
    text,
    text_width,
)
from preprocess.preview.row_profile.envelopes import envelopes, step_for
from preprocess.write.svg.xml_text import escape_text

if TYPE_CHECKING:
    from preprocess.arrays import Floats
    from preprocess.preview.row_profile.profile_rows import LayerRows, ProfileRows


WIDE, HIGH = 60.0, 40.0
LEFT, RIGHT, TOP, BOTTOM = 9.0, 4.0, 6.0, 6.0
BEFORE_PAINT = Paint(stroke="#a04000", width=0.4, dash="1.3 0.9")
AFTER_PAINT = Paint(fill="#a8cfe8", stroke="#00466e", width=0.4)
_GRID = Paint(stroke="#d9d9d9", width=0.15)
_AXIS = Paint(stroke=INK, width=0.25)
_TICKS = 4


@dataclass(frozen=True, slots=True)
class _Quantity:
    """What one plot shows: its name, its unit, and how many of these are one of the rows' own."""

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
        words = "not known: no speed is set" if len(rows.after) else "no rows"
        return _document(title, [head, text(LEFT, TOP + 8, words)])
    extent = _extent(rows)
    across, down = _Axis.of(0.0, largest), _Axis.of(*extent)
    lines = [head, *_frame(across, down)]
    high = step_for(extent, max(rows.before.pitch, rows.after.pitch))
    for side, values, paint, name in zip(
        (rows.after, rows.before),
        sides,
        (AFTER_PAINT, BEFORE_PAINT),
        ("after", "before"),
        strict=True,
    ):
        data = _bands(side, values, (extent[0], high), (across, down))
        lines += group(name, name, path(data, paint)) if data else []
    return _document(title, lines)


def _values(rows: ProfileRows, quantity: _Quantity) -> Floats:
    return np.asarray(getattr(rows, quantity.field) * quantity.factor, dtype=np.float64)


def _extent(rows: LayerRows) -> tuple[float, float]:
    """From the first row to the end of the last, mm."""
    at = np.concatenate([rows.before.at, rows.after.at])
    return float(at.min()), float(at.max()) + max(rows.before.pitch, rows.after.pitch)


@dataclass(frozen=True, slots=True)
class _Axis:
    """Values from `low` to `high`, a tick at every multiple of `every`."""

    low: float
    high: float
    every: float

    @classmethod
    def of(cls, low: float, high: float) -> _Axis:
        every = _round((high - low) / _TICKS)
        return cls(every * math.floor(low / every), every * math.ceil(high / every), every)

    def share(self, value: float) -> float:
        return (value - self.low) / (self.high - self.low)

    @property
    def ticks(self) -> list[float]:
        first, last = round(self.low / self.every), round(self.high / self.every)
        return [n * self.every for n in range(first, last + 1)]


def _round(least: float) -> float:
    """The smallest of 1, 2, 5 times a power of ten that is not smaller."""
    power = 10.0 ** math.floor(math.log10(least))
    return next((n * power for n in (1, 2, 5) if n * power >= least), 10 * power)


def _x(axis: _Axis, value: float) -> float:
    return LEFT + (WIDE - LEFT - RIGHT) * axis.share(value)


def _y(axis: _Axis, value: float) -> float:
    return TOP + (HIGH - TOP - BOTTOM) * axis.share(value)


def _frame(across: _Axis, down: _Axis) -> list[str]:
    right, bottom = mm(WIDE - RIGHT), mm(HIGH - BOTTOM)
    lines = [line for v in across.ticks for line in path(_upright(_x(across, v)), _GRID)]
    lines += [
        line for v in down.ticks for line in path(f"M{mm(LEFT)} {mm(_y(down, v))} H{right}", _GRID)
    ]
    lines += path(f"M{mm(LEFT)} {mm(TOP)} V{bottom} H{right}", _AXIS)
    lines += [_number(v, _x(across, v), HIGH - BOTTOM + 1.2 + TEXT_SIZE) for v in across.ticks]
    return [*lines, *(text(LEFT - 1, _y(down, v) + 1.05, f"{v:g}", end=True) for v in down.ticks)]


def _number(value: float, x: float, y: float) -> str:
    words = f"{value:g}"
    return text(x - text_width(words) / 2, y, words)


def _upright(x: float) -> str:
    return f"M{mm(x)} {mm(TOP)} V{mm(HIGH - BOTTOM)}"


def _bands(
    rows: ProfileRows, values: Floats, steps: tuple[float, float], axes: tuple[_Axis, _Axis]
) -> str:
    across, down = axes
    return " ".join(
        "M" + " ".join(f"{mm(_x(across, x))} {mm(_y(down, y))}" for x, y in band.outline()) + "Z"
        for band in envelopes(rows.at, values, *steps)
    )


def _document(title: str, lines: list[str]) -> str:
    box = f'viewBox="0 0 {mm(WIDE)} {mm(HIGH)}" width="{mm(WIDE)}mm" height="{mm(HIGH)}mm"'
    start = f'<svg xmlns="http://www.w3.org/2000/svg" version="1.1" {box}>'
    return "\n".join([start, f"<title>{escape_text(title)}</title>", *lines, "</svg>"])
