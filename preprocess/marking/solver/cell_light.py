"""Light that changes along rows from cell to cell, as the greys of an image say."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from preprocess.geometry.base.ranges import expand_ranges

if TYPE_CHECKING:
    from preprocess.arrays import Floats, Indices, Integers
    from preprocess.geometry.base.sweep import Runs
    from preprocess.marking.job.grey_rows import GreyRows
    from preprocess.marking.machine.beam import Beam

_ON_EDGE = 1e-6
"""Share of a cell by which the end of a run may miss the cell's edge."""


@dataclass(frozen=True, slots=True, eq=False)
class LightPieces:
    """Pieces of runs, each of one power: the run it is of, where it lies (mm), its light."""

    run: Indices
    start: Floats
    end: Floats
    light: Floats


def pieces_of_light(runs: Runs, rows: Integers, grey: GreyRows, beam: Beam) -> LightPieces:
    """Runs of an image's rows, cut where the power changes.

    Args:
        runs: in order of row and start; `row` counts the lit rows.
        rows: which row of the image each lit row is.
        grey: the power of each cell.
        beam: how the light follows the power.
    """
    first = np.floor((runs.start - grey.left) / grey.cell + _ON_EDGE).astype(np.int64)
    stop = np.ceil((runs.end - grey.left) / grey.cell - _ON_EDGE).astype(np.int64)
    run, column = expand_ranges(first, np.maximum(stop, first + 1))
    column = np.clip(column, 0, grey.power.shape[1] - 1)
    lights = np.maximum(0.0, (grey.power - beam.offset) / (1 - beam.offset))
    light = lights[rows[runs.row[run]], column]
    new = np.append(True, run[1:] != run[:-1])
    begins = new | np.append(True, light[1:] != light[:-1])
    run, column, light, new = run[begins], column[begins], light[begins], new[begins]
    start = np.where(new, runs.start[run], grey.left + grey.cell * column)
    last = np.append(new[1:], True)
    end = np.where(last, runs.end[run], np.append(start[1:], 0.0))
    return LightPieces(run, start, end, light)
