"""Seams: steps of the heat index from three rows to the next three."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.marking.heat.index_images import weighted_quantile

if TYPE_CHECKING:
    from preprocess.arrays import Floats
    from preprocess.marking.evenness.cells import MarkedCells

_ROWS = 3
"""Rows on either side of a border."""

_COLUMN = 1.0
"""mm along the rows over which they are averaged."""

_FULL = 0.5
"""Share of such a place that must be lit on both sides."""

_QUANTILE = 0.99
"""Share of the borders that are less of a step."""


def seam_step(cells: MarkedCells, ratio: Floats) -> float:
    """99 % of the places lie on less of a step than this, as a share; 0 without any."""
    found = [_steps(cells, ratio, number) for number in np.unique(cells.group).tolist()]
    step, weight = (np.concatenate(x) for x in zip((np.empty(0),) * 2, *found, strict=True))
    return weighted_quantile(step, weight, _QUANTILE)


def _steps(cells: MarkedCells, ratio: Floats, group: int) -> tuple[Floats, Floats]:
    mine = (cells.group == group) & ~cells.sliver
    if not mine.any():
        return np.empty(0), np.empty(0)
    pitch = float(np.median(cells.pitch[mine]))
    row = np.round((cells.v[mine] - cells.v[mine].min()) / pitch).astype(np.int64)
    column = np.floor(cells.u[mine] / _COLUMN).astype(np.int64)
    column -= column.min()
    shape = int(row.max()) + 1, int(column.max()) + 1
    if shape[0] < 2 * _ROWS:
        return np.empty(0), np.empty(0)
    area, warm = np.zeros(shape), np.zeros(shape)
    np.add.at(area, (row, column), cells.area[mine])
    np.add.at(warm, (row, column), cells.area[mine] * ratio[mine])
    area, warm = _running(area), _running(warm)
    above, below = area[:-_ROWS], area[_ROWS:]
    least = _FULL * _ROWS * pitch * _COLUMN
    both = (above > least) & (below > least)
    before, after = warm[:-_ROWS][both] / above[both], warm[_ROWS:][both] / below[both]
    return np.abs(after / before - 1), np.minimum(above, below)[both]


def _running(image: Floats) -> Floats:
    """Sums over every few successive rows."""
    summed = np.cumsum(np.pad(image, ((1, 0), (0, 0))), axis=0)
    return np.asarray(summed[_ROWS:] - summed[:-_ROWS])
