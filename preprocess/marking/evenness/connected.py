"""The hottest and the coldest connected place of a fixed area: what an eye finds first."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

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

_DECIMALS = 9
"""Decimals of the index over the median; cells that are equal to so many are equally extreme."""

_ROOM = 1 << 24
"""Marks of seen cells that are kept at once: as many places are grown at a time."""

_TIDY = 24
"""Steps of growth after which empty entries of the rims are dropped."""

_NONE = np.iinfo(np.int64).max
"""Entry of a rim that holds no cell."""


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
    return extreme_places(cells, [(ratio, hot)])[0]


def extreme_places(cells: MarkedCells, wanted: Sequence[tuple[Floats, bool]]) -> list[ExtremePlace]:
    """The hottest or the coldest place of each of several ratios, all of them grown at once."""
    if len(wanted) > 1 and len(wanted) * len(cells) > _ROOM:
        return [extreme_place(cells, ratio, hot=hot) for ratio, hot in wanted]
    signs = [1.0 if hot else -1.0 for _, hot in wanted]
    values = [
        np.round(sign * np.where(cells.sliver, 1.0, ratio), _DECIMALS)
        for sign, (ratio, _) in zip(signs, wanted, strict=True)
    ]
    seeds = [_seeds(cells, value) for value in values]
    of = np.repeat(np.arange(len(wanted)), [len(some) for some in seeds])
    seed = np.array([one for some in seeds for one in some], np.int64)
    best = [ExtremePlace(1.0, np.empty(0, np.int64)) for _ in wanted]
    most = np.full(len(wanted), -np.inf)
    growth = _Growth(cells, values)
    at_once = max(1, _ROOM // (len(cells) + 1))
    for first in range(0, len(seed), at_once):
        some = slice(first, first + at_once)
        for number, area, total, mine in growth.from_seeds(of[some], seed[some]):
            missing = max(0.0, _ISLAND * PLACE - area)
            sign = signs[number]
            found = (sign * total + missing) / (area + missing)
            if sign * found > most[number]:
                best[number], most[number] = ExtremePlace(found, mine), sign * found
    return best


class _Growth:
    """Grows places in step: each takes the most extreme cell of its rim, until it is full.

    A cell's key sorts by how extreme it is, then by its number, which are the key's last bits.
    """

    def __init__(self, cells: MarkedCells, values: Sequence[Floats]) -> None:
        self._area, self._least = cells.area, -np.stack(values)
        self._beside = np.ascontiguousarray(cells.beside.T)
        bits = len(cells).bit_length()
        ranks = np.rint(self._least * 10**_DECIMALS).astype(np.int64)
        self._keys, self._number = (ranks << bits) + np.arange(len(cells)), (1 << bits) - 1

    def from_seeds(
        self, of: Integers, seed: Integers
    ) -> Iterator[tuple[int, float, float, Integers]]:
        """For each seed: number of its values, area, sum of values times area, cells."""
        count = len(seed)
        area, total = np.zeros(count), np.zeros(count)
        taken: list[tuple[Integers, Integers]] = []
        seen = np.zeros((count, len(self._area) + 1), bool)
        seen[:, -1] = True  # stands for no neighbour
        growing = np.arange(count)
        seen[growing, seed] = True
        rim = self._keys[of, seed][:, None]
        while len(growing):
            slot = rim.argmin(axis=1)
            key = rim[np.arange(len(rim)), slot]
            if (key == _NONE).any():
                some = key != _NONE
                growing, rim, slot, key = growing[some], rim[some], slot[some], key[some]
            cell = key & self._number
            rim[np.arange(len(rim)), slot] = _NONE
            own = self._area[cell]
            area[growing] += own
            total[growing] -= self._least[of[growing], cell] * own
            taken.append((growing, cell))
            some = area[growing] < PLACE
            growing, cell, rim = growing[some], cell[some], rim[some]
            row, beside = growing[:, None], self._beside[cell]
            fresh = np.where(seen[row, beside], _NONE, self._keys[of[row], beside])
            seen[row, beside] = True
            rim = np.concatenate([rim, fresh], axis=1)
            if len(taken) % _TIDY == 0 and len(rim):
                rim.sort(axis=1)
                rim = rim[:, : max(1, int((rim != _NONE).sum(axis=1).max()))]
        mine = _by_place(taken, count)
        yield from zip(of.tolist(), area.tolist(), total.tolist(), mine, strict=True)


def _by_place(taken: Sequence[tuple[Integers, Integers]], count: int) -> list[Integers]:
    """Cells of each place, given which places took which cells in each step."""
    place, cell = (np.concatenate(each) for each in zip(*taken, strict=True))
    ends = np.cumsum(np.bincount(place, minlength=count))[:-1]
    return np.split(cell[np.argsort(place, kind="stable")], ends)


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
