"""Seams: steps of the heat index from three rows to the next three."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.marking.evenness.cells import marked_cells
from preprocess.marking.heat.index_images import weighted_quantile

if TYPE_CHECKING:
    from collections.abc import Collection

    from preprocess.arrays import Booleans, Floats, Integers
    from preprocess.marking.evenness.cells import MarkedCells
    from preprocess.marking.heat.index import HeatIndex

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


def step_between_outputs(heat: HeatIndex, names: Collection[str]) -> float:
    """The largest step where output layers of some names meet, as a share; 0 where none do."""
    images = [image for image in heat.images if image.output in names]
    cells = marked_cells(images)
    if cells is None:
        return 0.0
    order = {name: number for number, name in enumerate(names)}
    output = np.array([order[image.output] for image in images])[cells.image]
    groups = np.unique(cells.group).tolist()
    steps = [_steps(cells, cells.index[0], number, output)[0] for number in groups]
    return float(np.concatenate(steps).max(initial=0.0))


def _steps(
    cells: MarkedCells, ratio: Floats, group: int, output: Integers | None = None
) -> tuple[Floats, Floats]:
    """Steps of a group and the area of each; `output` leaves those between two outputs."""
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
    if output is not None:
        both &= _borders((row, column), output[mine], shape)
    before, after = warm[:-_ROWS][both] / above[both], warm[_ROWS:][both] / below[both]
    return np.abs(after / before - 1), np.minimum(above, below)[both]


def _borders(
    place: tuple[Integers, Integers], output: Integers, shape: tuple[int, int]
) -> Booleans:
    """Where the last of three rows and the first of the next three belong to two outputs."""
    found = np.full(shape, -1)
    found[place] = output
    last, first = found[_ROWS - 1 : -_ROWS], found[_ROWS : 1 - _ROWS]
    return np.asarray((last >= 0) & (first >= 0) & (last != first))


def _running(image: Floats) -> Floats:
    """Sums over every few successive rows."""
    summed = np.cumsum(np.pad(image, ((1, 0), (0, 0))), axis=0)
    return np.asarray(summed[_ROWS:] - summed[:-_ROWS])
