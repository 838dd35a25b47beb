"""Places that grow all at once, against one place grown cell by cell from a heap."""

from heapq import heappop, heappush

import numpy as np
import pytest

from preprocess.marking.evenness import connected
from preprocess.marking.evenness.cells import MarkedCells
from preprocess.marking.evenness.connected import PLACE, extreme_place, extreme_places

WIDE, HIGH = 40, 30
AREA = 0.01


def bed(seed, *, dark=0.3):
    """Cells of 0.1 mm on a bed with holes, which leave islands; a few are slivers."""
    rng = np.random.default_rng(seed)
    lit = rng.random((HIGH, WIDE)) > dark
    number = np.where(lit, np.cumsum(lit).reshape(lit.shape) - 1, -1)
    padded = np.pad(number, 1, constant_values=-1)
    around = padded[1:-1, :-2], padded[1:-1, 2:], padded[:-2, 1:-1], padded[2:, 1:-1]
    row, column = np.nonzero(lit)
    count = len(row)
    return MarkedCells(
        index=np.ones((1, count)),
        area=np.full(count, AREA) * rng.uniform(0.5, 1.0, count),
        weight=np.full(count, AREA),
        x=column / 10,
        y=row / 10,
        group=np.zeros(count, np.int64),
        u=column / 10,
        v=row / 10,
        pitch=np.full(count, 0.1),
        beside=np.stack([side[lit] for side in around]),
        sliver=rng.random(count) < 0.02,
        image=np.zeros(count, np.int64),
    )


def grown(cells, value, seed):
    seen, rim, mine, full = {seed, -1}, [(-value[seed], seed)], [], 0.0
    while rim and full < PLACE:
        _, cell = heappop(rim)
        mine.append(cell)
        full += cells.area[cell]
        for other in cells.beside[:, cell].tolist():
            if other not in seen:
                seen.add(other)
                heappush(rim, (-value[other], other))
    area, total = cells.area[mine].sum(), (cells.area[mine] * value[mine]).sum()
    return area, total, mine


@pytest.mark.parametrize(("seed", "steps"), [(0, 0.001), (1, 0.2), (2, 0.001), (3, 0.2)])
def test_places_are_those_that_grow_cell_by_cell(seed, steps, monkeypatch):
    """In steps of 0.2 many cells are equal, and the first of them is taken."""
    cells = bed(seed, dark=0.1 + 0.15 * seed)
    rng = np.random.default_rng(seed)
    ratio = np.round(rng.normal(1.0, 0.3, len(cells)) / steps) * steps
    flat = np.where(cells.sliver, 1.0, ratio)
    for hot in (True, False):
        sign = 1.0 if hot else -1.0
        value = np.round(sign * flat, 9)
        means = {}
        for one in connected._seeds(cells, value):
            area, total, mine = grown(cells, value, one)
            missing = max(0.0, 0.6 * PLACE - area)
            means[tuple(mine)] = sign * (sign * total + missing) / (area + missing)
        best = max(means.values())
        found = extreme_place(cells, ratio, hot=hot)
        assert found.ratio == pytest.approx(sign * best, abs=1e-12)
        assert means[tuple(found.cells.tolist())] == pytest.approx(best, abs=1e-12)
        monkeypatch.setattr(connected, "_ROOM", 5 * len(cells))
        few = extreme_place(cells, ratio, hot=hot)
        assert (few.ratio, few.cells.tolist()) == (found.ratio, found.cells.tolist())


def test_several_at_once_are_each_its_own():
    cells, rng = bed(7), np.random.default_rng(7)
    ends = [(rng.normal(1.0, 0.1, len(cells)), hot) for hot in (True, False, True)]
    every = extreme_places(cells, ends)
    for (ratio, hot), place in zip(ends, every, strict=True):
        assert place.ratio == extreme_place(cells, ratio, hot=hot).ratio


def test_without_cells_a_place_is_the_median():
    none = bed(1, dark=1.0)
    assert extreme_place(none, np.empty(0), hot=True).ratio == 1.0
