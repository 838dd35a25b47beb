"""The hottest and the coldest connected place of a fixed area: what an eye finds first."""

from __future__ import annotations

from dataclasses import dataclass
from heapq import heappop, heappush
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from preprocess.arrays import Booleans, Floats, Integers
    from preprocess.marking.evenness.cells import MarkedCells

PLACE = 0.5
"""Area of a place, mm²."""

_SEEDS = 60
"""Places that are grown, each from another of the most extreme cells."""

_FEW = 4000
"""Most extreme cells that are looked at first; there are many more, and most are never needed."""

_APART = 0.25, 0.15
"""Seeds lie at least so far apart along or across the rows, mm."""

_ISLAND = 0.6
"""Share of a place that an island must fill; what it lacks counts as the median."""


@dataclass(frozen=True, slots=True)
class ExtremePlace:
    """Mean index of a place over the median, and its cells."""

    ratio: float
    cells: Integers


def extreme_place(cells: MarkedCells, ratio: Floats, *, hot: bool) -> ExtremePlace:
    """The hottest or the coldest connected place.

    It is grown cell by cell, each time by the most extreme of its neighbours.

    Args:
        cells: the cells; slivers count as the median.
        ratio: index of each over the median.
        hot: whether the hottest is wanted.
    """
    sign = 1.0 if hot else -1.0
    value = np.round(sign * np.where(cells.sliver, 1.0, ratio), 9)
    grown = (_grown(cells, -value, seed, sign) for seed in _seeds(cells, value))
    best = max(grown, key=lambda place: sign * place.ratio, default=None)
    return best or ExtremePlace(1.0, np.empty(0, np.int64))


def _seeds(cells: MarkedCells, value: Floats) -> list[int]:
    """The most extreme cells, far enough apart that they do not grow into the same place."""
    few, found = _FEW, _spread_out(cells, value, min(_FEW, len(value)))
    while len(found) < _SEEDS and few < len(value):
        few *= 8
        found = _spread_out(cells, value, min(few, len(value)))
    return found


def _spread_out(cells: MarkedCells, value: Floats, count: int) -> list[int]:
    """Seeds among the most extreme cells, so many of them and all that equal the last."""
    least = -np.partition(-value, count - 1)[count - 1] if count else 0.0
    some = np.flatnonzero(value >= least)
    some = some[np.argsort(-value[some], kind="stable")]
    u, v, group = cells.u[some], cells.v[some], cells.group[some]
    found: list[int] = []
    taken: Booleans = np.zeros(len(some), bool)
    for number in range(len(some)):
        if taken[number]:
            continue
        found.append(int(some[number]))
        if len(found) == _SEEDS:
            break
        near = np.abs(u - u[number]) < _APART[0]
        near &= np.abs(v - v[number]) < _APART[1]
        taken |= near & (group == group[number])
    return found


def _grown(cells: MarkedCells, least: Floats, seed: int, sign: float) -> ExtremePlace:
    """Grow a place from a seed, given the negative value of every cell."""
    seen, rim, mine = {seed, -1}, [(least.item(seed), seed)], []
    area = total = 0.0
    while rim and area < PLACE:
        value, cell = heappop(rim)
        mine.append(cell)
        own = cells.area.item(cell)
        area, total = area + own, total - value * own
        for other in cells.beside[:, cell].tolist():
            if other not in seen:
                seen.add(other)
                heappush(rim, (least.item(other), other))
    missing = max(0.0, _ISLAND * PLACE - area)
    return ExtremePlace((sign * total + missing) / (area + missing), np.array(mine))
