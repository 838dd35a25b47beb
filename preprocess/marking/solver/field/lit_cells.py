"""Lit cells: which columns of a row count as lit, and how much of each is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from preprocess.marking.solver.row_images import column_coverage

if TYPE_CHECKING:
    from preprocess.arrays import Booleans, Floats, Floats32, Integers
    from preprocess.marking.solver.exposures import Exposure
    from preprocess.marking.solver.row_images import ColumnGrid

_ON_EDGE = 1e-6
"""Share of a column by which the middle of a run may lie before its edge: else, where pieces of the
columns are solved apart, rounding could leave it to neither of two."""

_FULL = 0.999
"""Share of a column that a row must light for the column's middle to count."""


@dataclass(frozen=True, slots=True)
class ShortRuns:
    """Cells of runs that light no column in full: row, column, and the run's middle (u, mm)."""

    row: Integers
    column: Integers
    middle: Floats


@dataclass(frozen=True, slots=True)
class LitCells:
    """Cells that count as lit, the lit share of each (rows × columns), and those of short runs."""

    lit: Booleans
    share: Floats32
    short: ShortRuns

    def aside(self, columns: ColumnGrid) -> Floats32:
        """How far from its column's middle each cell is evaluated, mm: rows × columns."""
        found = np.zeros(self.lit.shape, np.float32)
        row, column = self.short.row, self.short.column
        found[row, column] = self.short.middle - columns.centres[column]
        return found


def lit_cells(exposure: Exposure, columns: ColumnGrid) -> LitCells:
    """Cells that count as lit.

    Together the shares make up the lit length of each row: what is lit of a cell that does not
    count is added to its neighbours that do. Where the light comes late, the row counts as drawn.
    """
    exposure = exposure.whole
    wide = columns.wider(2)
    cover = column_coverage(exposure, wide)
    lit = cover >= _FULL
    short = _short_runs(exposure, wide, lit)
    lit[short.row, short.column] = True
    beside = np.pad(lit, ((0, 0), (1, 1))).astype(np.float64)
    given = np.where(lit, 0.0, cover) / np.maximum(beside[:, :-2] + beside[:, 2:], 1.0)
    given = np.pad(given, ((0, 0), (1, 1)))
    share = np.where(lit, cover + given[:, :-2] + given[:, 2:], 0.0)
    mine = (short.column >= 2) & (short.column < 2 + columns.count)  # noqa: PLR2004 - of the wider
    inner = ShortRuns(short.row[mine], short.column[mine] - 2, short.middle[mine])
    return LitCells(lit[:, 2:-2], share[:, 2:-2].astype(np.float32), inner)


def _short_runs(exposure: Exposure, columns: ColumnGrid, full: Booleans) -> ShortRuns:
    """Runs too short to light a column in full, with the column that holds their middle.

    The longest of several that share a column counts.
    """
    middle, length = (exposure.start + exposure.end) / 2, exposure.end - exposure.start
    column = np.floor((middle - columns.left) / columns.step + _ON_EDGE).astype(np.int64)
    short = np.flatnonzero((length < 2 * columns.step) & (column >= 0) & (column < columns.count))
    short = short[~full[exposure.row[short], column[short]]]
    short = short[np.lexsort((-length[short], column[short], exposure.row[short]))]
    row, column = exposure.row[short], column[short]
    first = np.append(True, (np.diff(row) != 0) | (np.diff(column) != 0))[: len(short)]
    return ShortRuns(row[first], column[first], middle[short][first])
