"""Places at which peaks are evaluated: the middles of columns, and those of runs too short for one.

A column's middle may lie beside a run that is shorter than the column, where it is cooler.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from preprocess.marking.solver.field.lit_cells import ShortRuns

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.arrays import Booleans, Floats, Floats32, Integers
    from preprocess.marking.solver.field.lit_cells import LitCells
    from preprocess.marking.solver.field.peak_targets import PeakTargets
    from preprocess.marking.solver.row_images import ColumnGrid

COARSE_LATTICE = 8
"""Parts of a column to which places are rounded where there are very many."""

_LATTICES = 32, COARSE_LATTICE
"""Parts of a column to which they are rounded."""


@dataclass(frozen=True, slots=True)
class PlacedCells:
    """Cells that are evaluated at a place of their own: row, column, and number of the place."""

    row: Integers
    column: Integers
    place: Integers


@dataclass(frozen=True, slots=True)
class EvaluatedPlaces:
    """Places of some columns: their middles, then `beside` (u, mm, ascending).

    `lit` says at which of them each target is lit: targets × all places. `own` are cells of the
    exposure's own rows, `earlier` those of earlier rows, each counted within its own rows.
    """

    columns: ColumnGrid
    beside: Floats
    lit: Booleans
    own: PlacedCells
    earlier: tuple[PlacedCells, ...]

    def by_column(self, values: Floats32, cells: PlacedCells) -> Floats32:
        """Values at all places, on the last axis, as those of columns."""
        found = values[..., : self.columns.count]
        away = self.columns.count + cells.place
        found[..., cells.row, cells.column] = values[..., cells.row, away]
        return found


def evaluated_places(
    targets: PeakTargets, own: LitCells, earlier: Sequence[LitCells], columns: ColumnGrid
) -> EvaluatedPlaces:
    """Find the places, given the lit cells of an exposure and of those beside it before."""
    before = zip(earlier, targets.earlier, strict=True)
    short = [own.short, *(_of_rows(cells.short, one.rows) for cells, one in before)]
    middles = np.concatenate([each.middle for each in short])
    beside, number = middles, np.empty(0, np.int64)
    for parts in _LATTICES:
        lattice = columns.step / parts
        beside, number = np.unique(np.round(middles / lattice) * lattice, return_inverse=True)
        if len(beside) <= columns.count:
            break
    ends = np.cumsum([len(each.row) for each in short])
    cells = [
        PlacedCells(each.row, each.column, place)
        for each, place in zip(short, np.split(number, ends[:-1]), strict=True)
    ]
    wide = targets.lit(_in_columns(own), [_in_columns(each) for each in earlier])
    lit = np.pad(wide, ((0, 0), (0, len(beside))))
    at = [targets.own, *(one.place for one in targets.earlier)]
    for rows, some in zip(at, cells, strict=True):
        lit[rows[some.row], columns.count + some.place] = True
    return EvaluatedPlaces(columns, beside, lit, cells[0], tuple(cells[1:]))


def _of_rows(short: ShortRuns, rows: Integers) -> ShortRuns:
    """Short runs of some rows, counted within these."""
    kept = np.isin(short.row, rows)
    return ShortRuns(np.searchsorted(rows, short.row[kept]), short.column[kept], short.middle[kept])


def _in_columns(cells: LitCells) -> Booleans:
    """Lit cells that are evaluated in the middle of their column."""
    found = cells.lit.copy()
    found[cells.short.row, cells.short.column] = False
    return found
