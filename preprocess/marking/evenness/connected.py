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
    found: list[int] = []
    taken: Booleans = np.zeros(len(value), bool)
    for cell in np.argsort(-value, kind="stable").tolist():
        if taken[cell]:
            continue
        found.append(cell)
        if len(found) == _SEEDS:
            break
        near = np.abs(cells.u - cells.u[cell]) < _APART[0]
        near &= np.abs(cells.v - cells.v[cell]) < _APART[1]
        taken |= near & (cells.group == cells.group[cell])
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
