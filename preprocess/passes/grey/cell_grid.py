"""The grid of cells of a layer, a row of them to each row of the machine, and which are lit."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.errors import Refusal
from preprocess.geometry.base.row_frame import RowFrame
from preprocess.geometry.base.sweep import sweep_area
from preprocess.marking.job.plan import row_grid

if TYPE_CHECKING:
    from shapely import MultiPolygon

    from preprocess.arrays import Booleans, Floats
    from preprocess.model.artwork.artwork import Page
    from preprocess.model.bench.machine import FirstRow

_FINER = 16
"""Lines on which the coverage of each row of cells is measured."""

_HALF = 0.5 - 1e-6
"""Share of a cell that must be drawn for it to be marked."""

_AT_ONCE = 64
"""Rows of cells that are measured together, so that memory stays small."""

_MOST = 30_000_000
"""Cells of a layer; more would be an image that no software takes."""

_ON_EDGE = 1e-6
"""Share of a cell by which an edge of the area may miss that of a cell."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CellGrid:
    """Cells in the row frame of `angle` (degrees), mm.

    Row i of cells has its middle at v = first + i · pitch, where the machine's row lies; cell j of
    it begins at u = left + j · cell, a multiple of the cell.
    """

    angle: float
    first: float
    pitch: float
    rows: int
    left: float
    cell: float
    columns: int

    @property
    def middles(self) -> Floats:
        """The u of the middle of each cell of a row, mm."""
        return np.asarray(self.left + self.cell * (np.arange(self.columns) + 0.5))


def cell_grid(
    area: MultiPolygon, rows: tuple[float, float], cell: float, rule: FirstRow, page: Page
) -> CellGrid:
    """The cells that cover an area of the page, on the rows in which the machine would sweep it.

    `rows` are their angle (degrees) and pitch (mm), `cell` is the width of a cell along them.

    Raises:
        Refusal: there would be too many cells.
    """
    angle, pitch = rows
    first, count = row_grid(area, angle, pitch, first_row=rule, page=page)
    begin, _, end, _ = RowFrame(angle).to_rows(area).bounds
    left = cell * float(np.floor(begin / cell + _ON_EDGE))
    columns = max(1, int(np.ceil((end - left) / cell - _ON_EDGE)))
    if columns * count > _MOST:
        raise Refusal(
            f"{columns} × {count} cells are more than the {_MOST // 1_000_000} million that an "
            "image may have",
            "give the layer a larger pitch, or the machine's grey a larger resolution",
        )
    return CellGrid(
        angle=angle, first=first, pitch=pitch, rows=count, left=left, cell=cell, columns=columns
    )


def coverage(area: MultiPolygon, grid: CellGrid) -> Floats:
    """Share of each cell that an area of the page covers, rows × columns."""
    turned = RowFrame(grid.angle).to_rows(area)
    shapely.prepare(turned)
    found = [
        _covered(turned, grid, first, min(first + _AT_ONCE, grid.rows))
        for first in range(0, grid.rows, _AT_ONCE)
    ]
    return np.concatenate(found) if found else np.zeros((0, grid.columns))


def _covered(turned: MultiPolygon, grid: CellGrid, first: int, stop: int) -> Floats:
    lines = np.arange((stop - first) * _FINER) + 0.5
    runs = sweep_area(turned, grid.first + grid.pitch * (first - 0.5 + lines / _FINER))
    size = (stop - first) * (grid.columns + 1)
    row, found = runs.row // _FINER, np.zeros(size)
    for sign, ends in ((1.0, runs.start), (-1.0, runs.end)):
        place = np.clip((ends - grid.left) / grid.cell, 0.0, grid.columns)
        column = np.minimum(place.astype(np.int64), grid.columns - 1)
        into, at = place - column, row * (grid.columns + 1) + column
        found += sign * np.bincount(at, 1 - into, size)
        found += sign * np.bincount(at + 1, into, size)
    summed = np.cumsum(found.reshape(stop - first, -1), axis=1) / _FINER
    return np.asarray(summed[:, :-1])


def half_covered(covered: Floats) -> Booleans:
    """Cells that are marked: those that are drawn to one half at least."""
    return np.asarray(covered >= _HALF)


def lost_area(covered: Floats, lit: Booleans, grid: CellGrid) -> float:
    """Area (mm²) of what is drawn in cells that are not marked and have no marked one beside."""
    near = np.pad(lit, 1)
    beside = np.zeros_like(lit)
    for down in range(3):
        for along in range(3):
            beside |= near[down : down + len(lit), along : along + lit.shape[1]]
    return max(0.0, float(covered[~beside].sum() * grid.pitch * grid.cell))
