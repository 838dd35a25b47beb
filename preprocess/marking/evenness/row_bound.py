"""The best conceivable: how even a job would be if each of its rows had a power of its own."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.marking.evenness.cells import marked_cells
from preprocess.marking.evenness.objective import figures_of_cells

if TYPE_CHECKING:
    from preprocess.marking.evenness.objective import EvennessFigures
    from preprocess.marking.heat.index import HeatIndex

_SAME_ROW = 1e-4
"""mm by which cells of one row may differ across it."""


def row_bound(heat: HeatIndex) -> EvennessFigures | None:
    """Judge a job as if each row were brought to the median of all; None where nothing is lit.

    To first order: what a row's other power does to its neighbours is left out. What remains is
    unevenness along rows, which no power of rows or colours can take away.
    """
    cells = marked_cells(heat.images)
    if cells is None:
        return None
    across = np.round(cells.v / _SAME_ROW).astype(np.int64)
    _, row = np.unique(np.stack([cells.group, across]), axis=1, return_inverse=True)
    row = row.reshape(-1)
    index, area = cells.index[0], cells.area
    mean = np.bincount(row, index * area) / np.bincount(row, area)
    return figures_of_cells(cells, index / mean[row])
