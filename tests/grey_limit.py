"""How even four images of greys could make a motif whose every cell may have any power.

``python -m tests.grey_limit stalk`` searches by gradients on the second simulator's own response,
from the greys that the product writes, and judges what it found. It is no product code: it knows
the judge from within, takes minutes, and needs half a gigabyte.
"""

from __future__ import annotations

import math
import sys
from dataclasses import replace

import numpy as np
from scipy.optimize import minimize
from scipy.sparse import csr_matrix
from scipy.special import ndtr

from tests.evenness import SPREADS, cells_of, figures_of
from tests.grey_evenness import GreyJob, converted, light_of
from tests.second_simulator.greys import REACH, cells_and_light, grey_peaks, under_beam
from tests.second_simulator.heat import Plastic, best_lag
from tests.second_simulator.judge import verdict

AIMS = {
    "all aims": ((0.016, 0.011, 0.012), (0.05, 0.06, None), (0.05, 0.06, None)),
    "the likely spread only": ((0.01, 0.01, 0.01),),
    "the worst spread only": ((0.5, 0.5, None), (0.05, 0.05, None), (0.05, 0.05, None)),
}
"""How far cells may be hotter and colder, and seams, at each spread; the search nears all alike."""

POWER, STEPS = 14, 300
NEAR = 4
"""Cells to both sides over which heat is averaged: a place of 0.5 mm² is longer than that."""


class Response:
    """Peaks of all cells at each spread, linear in their powers once the hottest visit is known."""

    def __init__(self, light):
        self.light, self.plastic = light, Plastic()
        self.smooth = np.array(SPREADS) ** 2 / 12
        self.lit = light.power > 0
        self.number = np.full(self.lit.shape, -1)
        self.number[self.lit] = np.arange(self.lit.sum())
        self.lag = best_lag(self.plastic, light.speed, float(self.smooth[0]))
        self.visits, self.order = light.visits(), np.argsort(light.at)

    def frozen(self, power):
        """Matrices, cells × cells, of the visits that are hottest under some powers."""
        count = len(power)
        found = np.zeros((len(SPREADS), count, count), np.float32)
        best = np.zeros((len(SPREADS), count))
        window = 3.2 * math.sqrt(self.plastic.sigma**2 + self.smooth.max())
        for place, row in enumerate(self.order):
            near = np.abs(self.light.y - self.light.y[row]) <= window
            for target in np.flatnonzero(near & (self.light.at <= self.light.at[row])):
                ids = self.number[target, self.lit[target]]
                for n, rows in enumerate(self._rows(target, row, self.order[:place])):
                    heat = rows @ power
                    hotter = heat > best[n][ids]
                    best[n][ids[hotter]] = heat[hotter]
                    found[n][ids[hotter]] = rows[hotter]
        return found

    def _rows(self, target, row, earlier):
        light, plastic = self.light, self.plastic
        cells = np.flatnonzero(self.lit[target])
        out = np.zeros((len(SPREADS), len(cells), self.number.max() + 1), np.float32)
        for one in earlier:
            age = self.visits[row][cells] + self.lag - self.visits[one][cells]
            along = np.sqrt(plastic.sigma**2 + 2 * plastic.alpha * age)
            source = np.flatnonzero(self.lit[one])
            away = (light.x[source] - light.x[cells][:, None]) / along[:, None]
            half = light.cell / 2 / along[:, None]
            lit = (ndtr(away + half) - ndtr(away - half)) * plastic.sinks(age)[:, None]
            for n, more in enumerate(self.smooth):
                across = along**2 + more
                felt = np.exp(-((light.y[target] - light.y[one]) ** 2) / (2 * across))
                scale = plastic.capacity * math.sqrt(2 * math.pi) * light.speed
                out[n][:, self.number[one, source]] = (
                    lit * (felt / np.sqrt(across) / scale)[:, None]
                )
        away = abs(light.y[target] - light.y[row])
        source = np.flatnonzero(self.lit[row])
        lag = cells[:, None] - source + REACH
        for n, kernel in enumerate(under_beam(light, plastic, self.smooth, away, self.lag)):
            known = kernel if light.forward[row] else kernel[::-1]
            inside = (lag >= 0) & (lag <= 2 * REACH)
            felt = np.where(inside, known[np.clip(lag, 0, 2 * REACH)], 0)
            out[n][:, self.number[row, source]] = felt
        return out


def averages(response):
    """Means over cells near along a row; steps from three rows to the next in columns of 1 mm."""
    lit, number, light = response.lit, response.number, response.light
    near = []
    for row, column in zip(*np.nonzero(lit), strict=True):
        some = number[row, max(0, column - NEAR) : column + NEAR + 1]
        some = some[some >= 0]
        near += [(number[row, column], one, 1 / len(some)) for one in some]
    rows = np.round((light.y - light.y.min()) / light.pitch).astype(int)
    steps, count = [], 0
    for top in range(rows.max() - 4):
        for column in np.unique(np.floor(light.x)):
            inside = np.floor(light.x) == column
            two = [
                number[np.isin(rows, range(first, first + 3))][:, inside]
                for first in (top, top + 3)
            ]
            above, below = (some[some >= 0] for some in two)
            if min(len(above), len(below)) > 15:
                steps += [(count, one, 1 / len(below)) for one in below]
                steps += [(count, one, -1 / len(above)) for one in above]
                count += 1
    return _sparse(near, lit.sum()), _sparse(steps, lit.sum())


def _sparse(entries, width):
    row, column, value = (np.array(each) for each in zip(*entries, strict=True))
    return csr_matrix((value, (row.astype(int), column.astype(int))), (int(row.max()) + 1, width))


def searched(matrices, power, means, aims):
    """Powers that bring each figure near its aim, all by the same share of it."""
    near, steps = means

    def off(change):
        now = power * np.exp(change)
        total, slope = 0.0, np.zeros(len(now))
        for matrix, (hot, cold, seam) in zip(matrices, aims, strict=False):
            heat = (matrix @ now.astype(np.float32)).astype(float)
            log = np.log(heat)
            middle = np.exp(-(((log - np.median(log)) / 0.008) ** 2))
            log = log - np.median(log)
            place = near @ log
            scale = np.where(place > 0, 1 / hot, 1 / cold)
            more = 50 / len(now) * (np.abs(place) * scale) ** POWER
            back = near.T @ (POWER * more / np.where(place == 0, 1, place))
            total += more.sum()
            if seam is not None:
                step = steps @ log
                more = 10 / len(step) * (np.abs(step) / seam) ** POWER
                back += steps.T @ (POWER * more / np.where(step == 0, 1, step))
                total += more.sum()
            back -= back.sum() * middle / middle.sum()
            slope += now * (matrix.T @ (back / heat).astype(np.float32))
        return math.log(total), slope / total

    found = minimize(off, np.zeros(len(power)), jac=True, method="L-BFGS-B",
                     options={"maxiter": STEPS, "maxcor": 20})  # fmt: skip
    return power * np.exp(found.x)


def main() -> None:
    """Search for each set of aims, and print what the judge says."""
    job = GreyJob(motif=sys.argv[1])
    light = light_of(converted(job), job)
    response = Response(light)
    means, start = averages(response), light.power[response.lit]
    matrices = response.frozen(start)
    for name, aims in AIMS.items():
        power = searched(matrices, start, means, aims)
        all_powers = np.zeros(light.power.shape)
        all_powers[response.lit] = power
        marked = replace(light, power=all_powers)
        stretches, cells = cells_and_light(marked, grey_peaks(marked, Plastic(), SPREADS))
        found = [verdict(stretches, cells, number) for number in range(len(SPREADS))]
        print(name, *cells_of(figures_of(found, marked.lasts)))


if __name__ == "__main__":
    main()
