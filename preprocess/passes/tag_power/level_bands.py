"""Level of each row of a raster group, and the borders of the levels."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from preprocess.marking.job.rows import RowValues, row_spans
from preprocess.model.bench.machine import FirstRow

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.arrays import Floats, Integers
    from preprocess.marking.job.plan import RasterGroup


ALIKE = 1.05
"""Widths or times whose ratio is below this are taken as one."""


@dataclass(frozen=True, slots=True, eq=False)
class LevelBands:
    """Levels along v: `levels[i]` holds from `borders[i − 1]` to `borders[i]`, one border fewer."""

    borders: Floats
    levels: Integers


def level_limits(least: float, most: float, levels: int) -> Floats:
    """Values (descending) that part the levels: equal steps of the logarithm.

    Empty when all values are alike.
    """
    if most < least * ALIKE:
        return np.empty(0)
    steps = np.arange(1, levels) / levels
    return most * np.exp(-steps * math.log(most / least))


def spans_by_row(group: RasterGroup, min_rows: int) -> RowValues:
    """Span of every lit row, mm.

    A row narrower than `min_rows` pitches counts as that: pointed ends would else reach to 0.
    """
    seen = row_spans(group)
    return RowValues(seen.row, np.maximum(seen.span, min_rows * group.pitch))


def common_limits(measured: Sequence[RowValues], levels: int) -> Floats:
    """Limits between the largest and the smallest value of several groups, descending."""
    every = np.concatenate([rows.value for rows in measured]) if measured else np.empty(0)
    every = every[np.isfinite(every)]
    return level_limits(every.min(), every.max(), levels) if len(every) else np.empty(0)


def level_bands(
    group: RasterGroup, measured: RowValues, between: Floats, min_rows: int, rule: FirstRow
) -> LevelBands:
    """Bands of whole rows by a value of theirs; level 1 has the largest.

    A border lies a whole number of pitches from where the rows of the group begin, so that each
    band begins its rows on the group's own grid. Bands of fewer rows than `min_rows` join the
    neighbour whose level is nearest.

    Args:
        group: swept rows.
        measured: the value of each lit row.
        between: limits between the levels, descending.
        min_rows: least number of rows in a band.
        rule: where the rows of a group begin.
    """
    if not len(measured.row):
        return LevelBands(np.empty(0), np.ones(1, dtype=np.int64))
    level = 1 + np.searchsorted(-between, -measured.value, side="left")
    starts, levels = merged_runs(level, min_rows)
    above = 0.0 if rule is FirstRow.EDGE else group.pitch / 2
    borders = group.first + group.pitch * measured.row[starts[1:]] - above
    return LevelBands(np.asarray(borders, dtype=float), levels)


def merged_runs(levels: Integers, least: int) -> tuple[Integers, Integers]:
    """Runs of equal levels (first index, level), none shorter than `least` unless it is alone.

    The shortest run joins first, of equal ones the first; it takes the level of the neighbour
    that is nearer to its own, of equally near ones that of the longer.
    """
    starts = np.flatnonzero(np.r_[True, levels[1:] != levels[:-1]]).tolist()
    kinds = [int(levels[i]) for i in starts]
    while len(starts) > 1:
        lengths = np.diff([*starts, len(levels)])
        short = int(np.argmin(lengths))
        if lengths[short] >= least:
            break
        kinds[short] = kinds[_neighbour(short, kinds, lengths)]
        for i in (short + 1, short):
            if 0 < i < len(kinds) and kinds[i] == kinds[i - 1]:
                del kinds[i], starts[i]
    return np.array(starts), np.array(kinds)


def _neighbour(run: int, kinds: list[int], lengths: Integers) -> int:
    beside = [i for i in (run - 1, run + 1) if 0 <= i < len(kinds)]
    return min(beside, key=lambda i: (abs(kinds[i] - kinds[run]), -lengths[i], i))
