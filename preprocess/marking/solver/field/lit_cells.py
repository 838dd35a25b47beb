"""Lit cells: which columns of a row count as lit, and how much of each is."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.marking.solver.row_images import column_coverage

if TYPE_CHECKING:
    from preprocess.arrays import Booleans, Floats, Floats32
    from preprocess.marking.solver.exposures import Exposure
    from preprocess.marking.solver.row_images import ColumnGrid

_ON_EDGE = 1e-6
"""Share of a column by which the middle of a run may lie before its edge: else, where pieces of the
columns are solved apart, rounding could leave it to neither of two."""

_FULL = 0.999
"""Share of a column that a row must light for the column's middle to count."""


def lit_cells(exposure: Exposure, columns: ColumnGrid) -> tuple[Booleans, Floats32]:
    """Cells that count as lit, and the lit share of each: rows × columns.

    Together the shares make up the lit length of each row: what is lit of a cell that does not
    count is added to its neighbours that do. Where the light comes late, the row counts as drawn.
    """
    exposure = exposure.whole
    wide = columns.wider(2)
    cover = column_coverage(exposure, wide)
    lit = _lit_columns(exposure, wide, cover)
    beside = np.pad(lit, ((0, 0), (1, 1))).astype(np.float64)
    given = np.where(lit, 0.0, cover) / np.maximum(beside[:, :-2] + beside[:, 2:], 1.0)
    given = np.pad(given, ((0, 0), (1, 1)))
    share = np.where(lit, cover + given[:, :-2] + given[:, 2:], 0.0)
    return lit[:, 2:-2], share[:, 2:-2].astype(np.float32)


def _lit_columns(exposure: Exposure, columns: ColumnGrid, cover: Floats) -> Booleans:
    """Columns that a row lights in full; of a run too short for that, the one in its middle."""
    lit = cover >= _FULL
    middle = (exposure.start + exposure.end) / 2
    column = np.floor((middle - columns.left) / columns.step + _ON_EDGE).astype(np.int64)
    short = exposure.end - exposure.start < 2 * columns.step
    short &= (column >= 0) & (column < columns.count)
    lit[exposure.row[short], column[short]] = True
    return lit
