"""Rows whose power changes along them, as an image: a grey to each cell, white for no mark."""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot

WHITE = 255
"""The grey that marks nothing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GreyImage:
    """One image of rows that are marked by their greys.

    `greys` holds a byte to each cell, row by row: 0 is black, 255 marks nothing. `matrix` maps
    cells to mm: the upper left corner of a cell is its column and row. `height` is how high a strip
    each row stands for, mm: less than a cell is high where other images hold the rows between.
    """

    columns: int
    rows: int
    greys: bytes
    matrix: tuple[float, float, float, float, float, float]
    height: float

    @property
    def cell(self) -> tuple[float, float]:
        """Width of a cell along its row and distance from row to row, mm."""
        a, b, c, d, _, _ = self.matrix
        return hypot(a, b), hypot(c, d)

    @property
    def corners(self) -> tuple[tuple[float, float], ...]:
        """Corners of the image in mm, clockwise as drawn from the upper left one."""
        a, b, c, d, e, f = self.matrix
        across, down = (self.columns * a, self.columns * b), (self.rows * c, self.rows * d)
        right, far = (e + across[0], f + across[1]), (e + down[0], f + down[1])
        return (e, f), right, (right[0] + down[0], right[1] + down[1]), far
