"""The column solver: march over the rows, and find at each lit point the hottest it ever gets.

Each column is solved by itself. When the beam has just passed and its own row is hottest, the
row-smoothed heat of all rows is summed at that row and at those shortly before it; the maximum over
the visits is the peak. Time is local (see `kernels.Solid.run`) but for the beam's own row (see
`own_row`); the spread along the rows comes from prepared blurs. The cost is linear in rows ×
columns.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from preprocess.arrays import Floats, Indices, Integers
    from preprocess.marking.solver.kernels import Solid
    from preprocess.marking.solver.row_sources import RowLumps, RowSources
    from preprocess.marking.solver.thermal_medium import ThermalMedium


FIRST, LAST, ENTRIES = 1e-10, 1e7, 1 << 16
PEAK_WINDOW = 4.5
"""Standard deviations of the smoothed row over which its heat may still raise a peak behind."""

_OTHER_WINDOW = 3.0
"""The same at the spreads that are less likely: what lies farther off raises it by 1 % at most."""

_NEWEST = 4
"""So many of the newest rows are blurred by the age at each column, older ones by the mean age."""


_MOST = 0.5
"""Where more than this share of the cells is wanted, all are computed: to pick costs as much."""

CACHE_ROOM = 1 << 15
"""Numbers that are worked on at once: about what the processor's cache holds."""


class DepthFactor:
    """The depth factor of a solid from a table over the logarithm of the age, to 3e-4."""

    def __init__(self, solid: Solid) -> None:
        ages = np.geomspace(FIRST, LAST, ENTRIES)
        self._table = solid.depth_factor(ages)
        self._scale = (ENTRIES - 1) / np.log(LAST / FIRST)

    def __call__(self, age: Floats) -> Floats:
        """The factor at ages in s; younger than the table counts as its first entry."""
        place = np.log(np.maximum(age, FIRST)) - np.log(FIRST)
        index = np.minimum((place * self._scale + 0.5).astype(np.int32), ENTRIES - 1)
        return self._table[index]


@dataclass(frozen=True, slots=True)
class TemperatureRise:
    """Weights of some lumps at one time in every column, ready to be seen from any y.

    The last axes are lumps and columns; before them there may be one of visits, each with its time.
    """

    y: Floats
    weight: Floats
    spread: Floats

    @property
    def narrowest(self) -> float:
        """Standard deviation across the rows of what has spread least, mm."""
        return float(np.sqrt(-0.5 / self.spread.min()))

    def at(self, visit: Indices, column: Indices, y: Floats) -> Floats:
        """Temperature rise of some visits in one column each; `y` is one of each visit there is."""
        if len(visit) > _MOST * len(y) * self.weight.shape[-1]:
            square = (self.y - y[:, None])[..., None] ** 2
            every = np.einsum("vnc,vnc->vc", self.weight, np.exp(square * self.spread))
            return np.asarray(every[visit, column])
        square = (self.y[visit] - y[visit, None]) ** 2
        weight, spread = self.weight[visit, :, column], self.spread[visit, :, column]
        return np.einsum("cn,cn->c", weight, np.exp(square * spread))

    def over(self, ys: Floats) -> Floats:
        """Temperature rise at several y, rows × columns, K; a few rows at a time."""
        at_once = max(1, CACHE_ROOM // self.weight.size)
        if len(ys) > at_once:
            pieces = np.array_split(ys, -(-len(ys) // at_once))
            return np.concatenate([self.over(piece) for piece in pieces])
        square = np.subtract.outer(ys, self.y) ** 2
        return np.einsum("nc,rnc->rc", self.weight, np.exp(square[:, :, None] * self.spread))


@dataclass(frozen=True, slots=True)
class MarchConstants:
    """The constants of one march: depth factor, K mm² per (J/mm), variances in mm² and mm²/s.

    `smooths` are the smoothings at which peaks are wanted, that of the likely spread first.
    """

    solid: Solid
    depth: DepthFactor
    strength: float
    at_once: float
    smooths: tuple[float, ...]
    gain: float

    @property
    def across(self) -> float:
        """Variance across the rows at once, the widest smoothing included, mm²."""
        return self.at_once + max(self.smooths)

    @property
    def windows(self) -> tuple[float, ...]:
        """Distance behind the beam within which a peak may still rise, at each smoothing, mm."""
        likely, *others = (math.sqrt(self.at_once + smooth) for smooth in self.smooths)
        return PEAK_WINDOW * likely, *(_OTHER_WINDOW * other for other in others)


@lru_cache(maxsize=8)
def _depth_factor(solid: Solid) -> DepthFactor:
    """The table of a solid, which is kept: one job marches many times in the same plastic."""
    return DepthFactor(solid)


def march_constants(medium: ThermalMedium) -> MarchConstants:
    """Constants of a march in a plastic."""
    return MarchConstants(
        medium.solid,
        _depth_factor(medium.solid),
        1 / medium.solid.capacity,
        medium.sigma**2,
        tuple(spread**2 / 12 for spread in medium.spreads),
        2 * medium.solid.alpha,
    )


def temperature_rise(
    constants: MarchConstants,
    seen: tuple[RowLumps, RowSources],
    which: Integers,
    now: Floats,
    here: Integers,
) -> tuple[tuple[TemperatureRise, ...], Floats]:
    """Rise from lumps of 1 J/mm at a time: at each smoothing, and the variance of the beam alone.

    Args:
        constants: constants.
        seen: the lumps and their images.
        which: numbers of the lumps, on the last axis.
        now: time in each of these columns, on the last axis, s.
        here: numbers of the columns.
    """
    lumps, sources = seen
    age = np.maximum(now[..., None, :] - sources.time[which[..., None], here], 0.0)
    light = _light(sources, which, here, age * constants.gain + constants.at_once)
    weight = light * constants.depth(age)
    weight *= constants.strength / np.sqrt(2 * np.pi)
    spread = age * constants.gain + (constants.at_once + lumps.extra[which])[..., None]
    y, smoothed = lumps.y[which], [spread + smooth for smooth in constants.smooths]
    return tuple(TemperatureRise(y, weight / np.sqrt(one), -0.5 / one) for one in smoothed), spread


def _light(sources: RowSources, which: Integers, here: Integers, along: Floats) -> Floats:
    """Light by lump and column at a variance along the rows, linear between the kept ones."""
    low, share = _between(sources.variances, along[..., :_NEWEST, :])
    late, old = which[..., :_NEWEST, None], which[..., _NEWEST:, None]
    lower, upper = sources.light[late, low, here], sources.light[late, low + 1, here]
    near = lower + (upper - lower) * share
    low, share = _between(sources.variances, along[..., _NEWEST:, :].mean(axis=-1, keepdims=True))
    lower, upper = sources.light[old, low, here], sources.light[old, low + 1, here]
    return np.concatenate([near, lower + (upper - lower) * share], axis=-2)


def _between(variances: Floats, wanted: Floats) -> tuple[Integers, Floats]:
    """Two kept variances around a wanted one, and the share of the way between them (0 to 1)."""
    low = np.searchsorted(variances[1:-1], wanted, side="right")
    share = (wanted - variances[low]) / (variances[low + 1] - variances[low])
    return low, np.minimum(np.maximum(share, 0.0), 1.0)
