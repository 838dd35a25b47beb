"""The objective by its own code: worst places, share beyond 10 %, seam, from a field of cells."""

from __future__ import annotations

import heapq
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from tests.second_simulator.beam import Light
    from tests.second_simulator.heat import Cells

PLACE, SLIVER = 0.5, 0.05


@dataclass(frozen=True)
class Verdict:
    """Hottest and coldest connected 0.5 mm² over the median; shares of area; seam step."""

    hot: float
    cold: float
    beyond: float
    seam: float


def median(value: np.ndarray, weight: np.ndarray, share: float = 0.5) -> float:
    order = np.argsort(value)
    summed = np.cumsum(weight[order])
    return float(value[order][np.searchsorted(summed, share * summed[-1])])


def verdict(light: Light, cells: Cells, spread: int = 0) -> Verdict:
    """Judge one spread."""
    area = cells.length * light.pitch
    peak = cells.peak[:, spread]
    ratio = peak / median(peak, area)
    sliver = (light.b - light.a)[cells.stretch] < SLIVER
    ratio = np.where(sliver, 1.0, ratio)
    near = _neighbours(light, cells)
    seen = np.where(sliver, 0.0, area)
    return Verdict(
        hot=_worst(ratio, area, near, light, cells),
        cold=-_worst(-ratio, area, near, light, cells),
        beyond=float(seen[np.abs(ratio - 1) > 0.1].sum() / seen.sum()),
        seam=_seam(light, cells, ratio, seen),
    )


def _neighbours(light: Light, cells: Cells) -> list[list[int]]:
    """Cells that touch: along their stretch, and across in the rows above and below."""
    row = np.round((light.y - light.y.min()) / light.pitch).astype(int)
    left, right = cells.x - cells.length / 2, cells.x + cells.length / 2
    near: list[list[int]] = [[] for _ in cells.x]
    by_row: dict[int, np.ndarray] = {}
    for number in np.unique(row).tolist():
        mine = np.flatnonzero(row[cells.stretch] == number)
        by_row[number] = mine[np.argsort(left[mine])]
    for number, mine in by_row.items():
        for one, two in zip(mine[:-1].tolist(), mine[1:].tolist(), strict=True):
            if left[two] - right[one] < 1e-6:
                near[one].append(two)
                near[two].append(one)
        below = by_row.get(number + 1)
        if below is None:
            continue
        first = np.searchsorted(right[below], left[mine] + 1e-9)
        last = np.searchsorted(left[below], right[mine] - 1e-9)
        for one, a, b in zip(mine.tolist(), first.tolist(), last.tolist(), strict=True):
            for two in below[a:b].tolist():
                near[one].append(two)
                near[two].append(one)
    return near


def _worst(value, area, near, light, cells, tries=60):
    """Largest mean over a connected place, grown from the most extreme cells."""
    y, taken, best, count = light.y[cells.stretch], np.zeros(len(value), bool), -np.inf, 0
    usual = median(value, area)
    for seed in np.argsort(-value, kind="stable").tolist():
        if taken[seed]:
            continue
        taken |= (np.abs(cells.x - cells.x[seed]) < 0.25) & (np.abs(y - y[seed]) < 0.15)
        size = total = 0.0
        rim, known = [(-value[seed], seed)], {seed}
        while rim and size < PLACE:
            _, cell = heapq.heappop(rim)
            size, total = size + area[cell], total + area[cell] * value[cell]
            for other in near[cell]:
                if other not in known:
                    known.add(other)
                    heapq.heappush(rim, (-value[other], other))
        lacking = max(0.0, 0.6 * PLACE - size)
        best = max(best, (total + lacking * usual) / (size + lacking))
        count += 1
        if count == tries:
            break
    return float(best)


def _seam(light, cells, ratio, area):
    row = np.round((light.y[cells.stretch] - light.y.min()) / light.pitch).astype(int)
    column = np.floor(cells.x).astype(int)
    column -= column.min()
    size = row.max() + 1, column.max() + 1
    lit, warm = np.zeros(size), np.zeros(size)
    np.add.at(lit, (row, column), area)
    np.add.at(warm, (row, column), area * ratio)
    if size[0] < 6:
        return 0.0
    steps, weights = [], []
    for top in range(size[0] - 5):
        one, two = lit[top : top + 3].sum(0), lit[top + 3 : top + 6].sum(0)
        full = (one > 1.5 * light.pitch) & (two > 1.5 * light.pitch)
        before = warm[top : top + 3].sum(0)[full] / one[full]
        after = warm[top + 3 : top + 6].sum(0)[full] / two[full]
        steps += np.abs(after / before - 1).tolist()
        weights += np.minimum(one, two)[full].tolist()
    return median(np.array(steps), np.array(weights), 0.99) if steps else 0.0
