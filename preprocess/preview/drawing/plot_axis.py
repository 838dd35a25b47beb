"""Plots with two axes, linear or logarithmic: places on paper, grid, ticks and numbers."""

from __future__ import annotations

import math
from dataclasses import dataclass

from preprocess.preview.drawing.canvas import INK, TEXT_SIZE, Paint, mm, path, text, text_width
from preprocess.units import digits

_GRID = Paint(stroke="#d9d9d9", width=0.15)
_AXIS = Paint(stroke=INK, width=0.25)
_LINEAR_TICKS = 4
_LOG_STEPS = 1, 2, 3, 5, 7

PlotCurve = list[tuple[float, float]]


@dataclass(frozen=True, slots=True)
class PlotAxis:
    """Values from `low` to `high`, with ticks; `factor` turns a value into its number."""

    low: float
    high: float
    ticks: tuple[float, ...]
    logarithmic: bool = False
    factor: float = 1.0

    @classmethod
    def linear(cls, low: float, high: float) -> PlotAxis:
        """An axis that begins and ends at a tick; ticks lie 1, 2 or 5 times 10ⁿ apart."""
        least = (high - low) / _LINEAR_TICKS
        power = 10.0 ** math.floor(math.log10(least))
        every = next((n * power for n in (1, 2, 5) if n * power >= least), 10 * power)
        first, last = math.floor(low / every), math.ceil(high / every)
        ticks = tuple(n * every for n in range(first, last + 1))
        return cls(every * first, every * last, ticks)

    def share(self, value: float) -> float:
        """Place of a value along the axis, 0 to 1; a logarithmic axis keeps all values within."""
        if self.logarithmic:
            share = math.log(value / self.low) / math.log(self.high / self.low)
            return min(max(share, 0.0), 1.0)
        return (value - self.low) / (self.high - self.low)


@dataclass(frozen=True, slots=True)
class PlotFrame:
    """A plot: its corner and size on the sheet (mm) and its axes; `upward`: larger is higher."""

    left: float
    top: float
    width: float
    height: float
    across: PlotAxis
    down: PlotAxis
    upward: bool = False

    def x(self, value: float) -> float:
        """Place on the sheet, mm."""
        return self.left + self.width * self.across.share(value)

    def y(self, value: float) -> float:
        """Place on the sheet, mm."""
        share = self.down.share(value)
        return self.top + self.height * (1 - share if self.upward else share)

    def curve(self, points: PlotCurve) -> str:
        """Path data of a curve."""
        return "M" + " ".join(f"{mm(self.x(x))} {mm(self.y(y))}" for x, y in points)

    def area(self, points: PlotCurve) -> str:
        """Path data of the area within a closed curve."""
        return self.curve(points) + "Z"

    @property
    def across_ticks(self) -> list[tuple[str, str]]:
        """Grid line and number of each tick of the horizontal axis."""
        bottom = self.top + self.height
        found = []
        for value in self.across.ticks:
            x, words = self.x(value), digits(self.across.factor * value)
            (line,) = path(f"M{mm(x)} {mm(self.top)} V{mm(bottom)}", _GRID)
            found.append((line, text(x - text_width(words) / 2, bottom + 1.2 + TEXT_SIZE, words)))
        return found

    @property
    def down_ticks(self) -> list[tuple[str, str]]:
        """Grid line and number of each tick of the vertical axis."""
        right = self.left + self.width
        found = []
        for value in self.down.ticks:
            y, words = self.y(value), digits(self.down.factor * value)
            (line,) = path(f"M{mm(self.left)} {mm(y)} H{mm(right)}", _GRID)
            found.append((line, text(self.left - 1, y + 1.05, words, end=True)))
        return found

    @property
    def axes(self) -> list[str]:
        """The left and the lower edge of the frame."""
        right, bottom = self.left + self.width, self.top + self.height
        return path(f"M{mm(self.left)} {mm(self.top)} V{mm(bottom)} H{mm(right)}", _AXIS)


def log_ticks(low: float, high: float) -> tuple[float, ...]:
    """1, 2, 3, 5 and 7 times powers of ten between two values."""
    decades = range(math.floor(math.log10(low)), math.ceil(math.log10(high)) + 1)
    every = [float(f"{step * 10.0**n:.6g}") for n in decades for step in _LOG_STEPS]
    return tuple(value for value in every if low <= value <= high)
