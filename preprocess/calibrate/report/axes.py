"""A plot with two logarithmic axes: where values lie on paper, frame and ticks."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from preprocess.preview.drawing.canvas import INK, TEXT_SIZE, Paint, mm, path, text, text_width

if TYPE_CHECKING:
    from collections.abc import Sequence

_STEPS = 1, 2, 3, 5, 7
_GRID = Paint(stroke="#d9d9d9", width=0.15)
_AXIS = Paint(stroke=INK, width=0.25)

Curve = list[tuple[float, float]]


@dataclass(frozen=True, slots=True)
class Panel:
    """A plot: its corner and size on the sheet (mm), and the ends of both axes."""

    left: float
    top: float
    width: float
    height: float
    across: tuple[float, float]
    up: tuple[float, float]

    def x(self, value: float) -> float:
        """Place on the sheet."""
        return self.left + self.width * _share(value, self.across)

    def y(self, value: float) -> float:
        """Place on the sheet; larger is higher. What is beyond the frame lies on it."""
        return self.top + self.height * (1 - min(max(_share(value, self.up), 0.0), 1.0))

    def line(self, curve: Curve) -> str:
        """Path data of a curve."""
        return "M" + " ".join(f"{mm(self.x(x))} {mm(self.y(y))}" for x, y in curve)

    def area(self, there: Curve, back: Curve) -> str:
        """Path data of what lies between two curves."""
        return self.line([*there, *reversed(back)]) + "Z"

    def frame(self, name: str, ticks: Sequence[float]) -> list[str]:
        """Grid, axes, ticks and what goes across; powers up the side are told in %."""
        right, bottom = self.left + self.width, self.top + self.height
        lines: list[str] = []
        for value in ticks:
            lines += path(f"M{mm(self.x(value))} {mm(self.top)} V{mm(bottom)}", _GRID)
            words = f"{value:g}"
            lines.append(
                text(self.x(value) - text_width(words) / 2, bottom + 1.2 + TEXT_SIZE, words)
            )
        for value in ticks_within(*self.up):
            lines += path(f"M{mm(self.left)} {mm(self.y(value))} H{mm(right)}", _GRID)
            lines.append(text(self.left - 1, self.y(value) + 1.05, f"{100 * value:g}", end=True))
        corner = f"M{mm(self.left)} {mm(self.top)} V{mm(bottom)} H{mm(right)}"
        return [
            *lines,
            *path(corner, _AXIS),
            text(self.left, bottom + 2.4 + 2 * TEXT_SIZE, name),
        ]


def ticks_within(low: float, high: float) -> list[float]:
    """1, 2, 3, 5, 7 times powers of ten between two values."""
    decades = range(int(np.floor(np.log10(low))), int(np.ceil(np.log10(high))) + 1)
    every = [float(f"{step * 10.0**n:.6g}") for n in decades for step in _STEPS]
    return [value for value in every if low <= value <= high]


def _share(value: float, ends: tuple[float, float]) -> float:
    low, high = np.log(ends)
    return float((np.log(value) - low) / (high - low))
