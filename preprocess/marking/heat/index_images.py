"""Images of the heat index by raster group and part, and figures over all of them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from preprocess.geometry.base.row_frame import RowFrame

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.arrays import Booleans, Floats, Floats32


@dataclass(frozen=True, slots=True, kw_only=True)
class IndexImage:
    """One raster group on one part: images of rows × columns, in the row frame of `angle`.

    `v` of the rows and `u` of the columns' middles are mm. Where `lit`, `index` is the heat index,
    `spike` and `residual` are ratios to the spike of the reference patch; elsewhere they are nan.
    With repeats each point shows its largest values. A whole cell has `cell` mm², of which `share`
    is lit; `stands_for` is how many groups like it this one was chosen for. Own rows, traced as
    lines, have an image for each `round`. `at_spreads` is the index at every spread that was asked
    for, the likely one first: spreads × rows × columns; None where only that was. A run that is too
    short for its column is evaluated `aside` of that column's middle, in its own (mm, rows ×
    columns; None where there is no such run).
    """

    step: int
    output: str
    part: int | None
    angle: float
    v: Floats
    u: Floats
    lit: Booleans
    index: Floats
    spike: Floats
    residual: Floats
    cell: float
    share: Floats32
    round: int = 0
    stands_for: float = 1.0
    at_spreads: Floats | None = None
    aside: Floats32 | None = None

    @property
    def points(self) -> tuple[Floats, Floats]:
        """Where all cells are evaluated: x and y on the page (mm), rows × columns."""
        u, v = np.meshgrid(self.u, self.v)
        u = u if self.aside is None else u + self.aside
        return RowFrame(self.angle).to_xy(u, v)

    def place(self, row: int, column: int) -> tuple[float, float]:
        """Where a cell is evaluated, u and v, mm."""
        aside = 0.0 if self.aside is None else float(self.aside[row, column])
        return float(self.u[column]) + aside, float(self.v[row])

    @property
    def indices(self) -> Floats:
        """The index at every spread that is known: spreads × rows × columns."""
        return self.index[None] if self.at_spreads is None else self.at_spreads

    @property
    def areas(self) -> Floats:
        """The lit area of every cell, mm², rows × columns."""
        return self.cell * np.where(self.lit, self.share, 0.0).astype(np.float64)

    @property
    def ranked(self) -> Floats:
        """The index to nine digits, to look for extremes: the last bits differ by processor.

        Along a straight row many cells are equal but for these bits; the first of them is meant.
        """
        return np.round(self.index, 9)


def first_least_cell(key: Floats, where: Booleans) -> tuple[int, int]:
    """Row and column of the least key; of equal ones the first, row by row.

    scipy's minimum_position takes any of equal ones, another one on another processor.
    """
    row, column = np.unravel_index(int(np.argmin(np.where(where, key, np.inf))), where.shape)
    return int(row), int(column)


def lit_values(images: Sequence[IndexImage]) -> tuple[Floats, Floats]:
    """The index of all lit cells and the area (mm²) that each of them stands for."""
    index = [image.index[image.lit] for image in images]
    weight = [image.stands_for * image.areas[image.lit] for image in images]
    if not index:
        return np.empty(0), np.empty(0)
    return np.concatenate(index), np.concatenate(weight)


def weighted_quantile(value: Floats, weight: Floats, share: float) -> float:
    """The value below which a share of the weight lies; 0 without values."""
    if not len(value):
        return 0.0
    return float(np.quantile(value, share, weights=weight, method="inverted_cdf"))
