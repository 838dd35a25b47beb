"""Pieces of rows: what warms a part, with its light, and what is marked beside all parts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.arrays import Booleans, Floats, Integers
    from preprocess.marking.solver.exposures import Exposure

_SLIVER = 1e-6
"""mm; what is left between two pieces by the rounding of numbers is none."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DrawnRuns:
    """Runs of rows as they are marked, in order of row and start: mm in the row frame, s.

    `row` counts the lit rows, of which `forward` says which way they run; `entered` is when the
    beam enters each run.
    """

    row: Integers
    start: Floats
    end: Floats
    entered: Floats
    forward: Booleans
    speed: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pieces:
    """The same cut where the part or the light changes; `entered` is when the beam is there.

    `part` is 1, 2, … for the part that a piece warms, 0 where it warms none; `light` is the share
    of the energy of its row.
    """

    row: Integers
    start: Floats
    end: Floats
    entered: Floats
    part: Integers
    light: Floats

    def __len__(self) -> int:
        return len(self.row)


def pieces_of(drawn: DrawnRuns, warm: Sequence[tuple[int, Integers, Exposure]]) -> Pieces:
    """Runs cut into pieces.

    Args:
        drawn: the runs.
        warm: what warms a part: the part's number from 1 on, which of the drawn rows each row of
            the exposure is, and the exposure.
    """
    row = np.concatenate([np.empty(0, np.int64), *(rows[one.row] for _, rows, one in warm)])
    start = np.concatenate([np.empty(0), *(one.start for *_, one in warm)])
    end = np.concatenate([np.empty(0), *(one.end for *_, one in warm)])
    light = np.concatenate([np.empty(0), *(one.relative for *_, one in warm)])
    part = np.concatenate([np.empty(0, np.int64), *(np.full(len(o.row), n) for n, _, o in warm)])
    dark = _without(drawn, row, start, end)
    row, start, end = (np.concatenate(pair) for pair in zip((row, start, end), dark, strict=True))
    beside = len(row) - len(part)
    part = np.concatenate([part, np.zeros(beside, np.int64)])
    light = np.concatenate([light, np.ones(beside)])
    order = np.lexsort((start, row))
    row, start, end = row[order], start[order], end[order]
    return Pieces(
        row=row,
        start=start,
        end=end,
        entered=_entered(drawn, row, start, end),
        part=part[order],
        light=light[order],
    )


def _without(
    drawn: DrawnRuns, row: Integers, start: Floats, end: Floats
) -> tuple[Integers, Floats, Floats]:
    """Row, start and end of what is left of the runs without other pieces of them."""
    place = np.concatenate([drawn.start, drawn.end, start, end])
    rows = np.concatenate([drawn.row, drawn.row, row, row])
    change = [len(drawn.row), len(drawn.row), len(row), len(row)]
    marked, taken = np.repeat([1, -1, 0, 0], change), np.repeat([0, 0, 1, -1], change)
    order = np.lexsort((place, rows))
    place, rows = place[order], rows[order]
    left = (np.cumsum(marked[order]) > 0) & (np.cumsum(taken[order]) <= 0)
    begins = np.flatnonzero(left[:-1])
    begins = begins[place[begins + 1] - place[begins] > _SLIVER]
    return rows[begins], place[begins], place[begins + 1]


def _entered(drawn: DrawnRuns, row: Integers, start: Floats, end: Floats) -> Floats:
    """When the beam enters pieces of runs."""
    middle = (start + end) / 2
    wide = float(max(drawn.end.max(), middle.max()) - min(drawn.start.min(), middle.min())) + 1.0
    left = float(drawn.start.min())
    key = drawn.row * wide + (drawn.start - left)
    run = np.searchsorted(key, row * wide + (middle - left), side="right") - 1
    forward = drawn.forward[row]
    late = np.where(forward, start - drawn.start[run], drawn.end[run] - end)
    return np.asarray(drawn.entered[run] + late / drawn.speed)
