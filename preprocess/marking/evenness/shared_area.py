"""Area that two jobs both mark, so that before and after speak of the same places."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from preprocess.arrays import Booleans, Integers
    from preprocess.marking.evenness.cells import MarkedCells

_GRID = 0.2
"""Side of the squares by which places are compared, mm; a neighbour's square counts as well."""


def in_both(cells: MarkedCells, other: MarkedCells) -> Booleans:
    """Mask of the cells that lie where the other job marks too; all where nothing is shared."""
    (x, y), (over_x, over_y) = _squares(cells), _squares(other)
    left, top = min(x.min(), over_x.min()) - 1, min(y.min(), over_y.min()) - 1
    wide, high = max(x.max(), over_x.max()) - left + 2, max(y.max(), over_y.max()) - top + 2
    marked = np.zeros((int(high), int(wide)), bool)
    marked[over_y - top, over_x - left] = True
    near = marked.copy()
    for axis in (0, 1):
        for by in (-1, 1):
            near |= np.roll(marked, by, axis)
        marked = near.copy()
    both = near[y - top, x - left]
    return both if both.any() else np.ones(len(cells), bool)


def _squares(cells: MarkedCells) -> tuple[Integers, Integers]:
    x, y = (np.floor(place / _GRID).astype(np.int64) for place in (cells.x, cells.y))
    return x, y
