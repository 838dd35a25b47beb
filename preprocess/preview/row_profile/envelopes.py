"""Rows gathered for the eye: at each height of a plot, from the smallest value to the largest."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from preprocess.arrays import Floats


_FINEST = 100
"""Heights that a plot tells apart at most."""


@dataclass(frozen=True, slots=True)
class Envelope:
    """A stretch of neighbouring rows: from `top` downward, a step of `high` mm for each entry."""

    top: float
    high: float
    least: Floats
    most: Floats

    def outline(self) -> list[tuple[float, float]]:
        """Corners (value, place) of the steps, down along the largest and up along the smallest."""
        edges = self.top + self.high * np.arange(len(self.least) + 1)
        down = np.column_stack([np.repeat(self.most, 2), np.repeat(edges, 2)[1:-1]])
        up = np.column_stack([np.repeat(self.least, 2), np.repeat(edges, 2)[1:-1]])[::-1]
        return [(float(x), float(y)) for x, y in np.concatenate([down, up])]


def step_for(extent: tuple[float, float], pitch: float) -> float:
    """Height of one step in mm: no finer than the eye needs, and no finer than the rows."""
    return max((extent[1] - extent[0]) / _FINEST, 1.001 * pitch) or 1.0


def envelopes(at: Floats, values: Floats, top: float, high: float) -> list[Envelope]:
    """Bands of rows at places `at` (mm); rows without a value are left out."""
    known = np.isfinite(values)
    if not known.any():
        return []
    index = np.floor((at[known] - top) / high).astype(np.int64)
    count = int(index.max()) + 1
    least, most = np.full(count, np.inf), np.full(count, -np.inf)
    np.minimum.at(least, index, values[known])
    np.maximum.at(most, index, values[known])
    there = np.flatnonzero(np.isfinite(least))
    stretches = np.split(there, np.flatnonzero(np.diff(there) > 1) + 1)
    return [Envelope(top + high * int(s[0]), high, least[s], most[s]) for s in stretches]
