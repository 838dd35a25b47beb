"""Other rules: what would be lost if the software began its rows otherwise than the machine says.

A strip is as high as rows are apart, so that rows of any phase meet each strip once, unless they
fall on the border between two: rounding then decides whether a row is lost or marked twice.
"""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import MultiPolygon

from preprocess.marking.job.plan import row_grid
from preprocess.model.bench.machine import FirstRow

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.arrays import Booleans
    from preprocess.model.artwork.artwork import Page
    from preprocess.model.artwork.shape import Shape
    from preprocess.passes.interleave.strip_grid import StripGrid

_NEAR = 2.0
"""Steps of the written grid within which a row lies on a border."""


def rows_at_risk(
    rounds: Sequence[Shape], grid: StripGrid, page: Page, *, whole: bool
) -> dict[FirstRow, float]:
    """Share of the length of all rows that each rule could leave out or mark twice.

    Args:
        rounds: the strips.
        grid: by which they were laid.
        page: the page.
        whole: the software sweeps each colour as a whole, else each path.
    """
    swept: dict[object, list[MultiPolygon]] = defaultdict(list)
    for number, one in enumerate(rounds):
        swept[one.level if whole else number] += [one.geometry, *([one.bars] if one.bars else [])]
    areas = [MultiPolygon([*shapely.get_parts(some)]) for some in swept.values()]
    runs = grid.runs(areas)
    length = np.zeros((len(areas), grid.count))
    np.add.at(length, (runs.group, runs.row), runs.end - runs.start)
    total = float(length.sum()) or 1.0
    found = {}
    for rule in FirstRow:
        unsure = [_unsure(area, grid, page, rule) for area in areas]
        found[rule] = float(length[np.stack(unsure)].sum()) / total
    return found


def _unsure(area: MultiPolygon, grid: StripGrid, page: Page, rule: FirstRow) -> Booleans:
    """Mask of the strips that rows of a set, by a rule, may meet twice or not at all."""
    first, count = row_grid(area, grid.angle, grid.pitch, first_row=rule, page=page)
    rows = first + grid.pitch * np.arange(count)
    above = np.append(-np.inf, grid.borders)
    below = np.append(grid.borders, np.inf)
    near = _NEAR * grid.step
    low, high = (np.searchsorted(rows, ends) for ends in (above + near, below - near))
    return np.asarray(high - low != 1)
