"""Background heat: that of earlier exposures, at a few instants and interpolated between them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from preprocess.arrays import Floats, Integers
    from preprocess.marking.solver.exposures import Exposure
    from preprocess.marking.solver.field.unit_rises import UnitRises


_STEADY = 0.25
"""Share by which the rows since the start may grow from one instant to the next."""


@dataclass(frozen=True, slots=True)
class Instants:
    """Rows at whose start background heat is computed, their times (s), and the targets in need.

    The last instant is the exposure's end; `low` and `high` bound the targets of each instant.
    """

    row: Integers
    time: Floats
    low: Integers
    high: Integers

    @property
    def image_begins(self) -> Integers:
        """First index of the targets of each instant when they lie one instant below the other."""
        return np.cumsum(self.high - self.low) - (self.high - self.low)


@dataclass(frozen=True, slots=True)
class BackgroundHeat:
    """Temperature rise by earlier exposures, K: the image of each instant below the other.

    `images` is smoothings × targets of all instants × columns; None where there is no heat.
    """

    instants: Instants
    images: Floats | None

    def at(self, some: UnitRises) -> Floats:
        """Background of some visits at the cells that they raise: smoothings × cells, or 0, K."""
        images, instants = self.images, self.instants
        if images is None:
            return np.zeros((1, 1))
        after = np.searchsorted(instants.row, some.visit, side="right") - 1
        begun, lasts = instants.time[after], instants.time[after + 1] - instants.time[after]
        share = np.minimum(np.maximum((some.now - begun) / lasts, 0.0), 1.0)
        begins = instants.image_begins - instants.low
        earlier = images[:, some.target + begins[after], some.place]
        later = images[:, some.target + begins[after + 1], some.place]
        return np.asarray(earlier * (1 - share) + later * share)


def instants_of(exposure: Exposure, bounds: tuple[Integers, Integers], *, few: bool) -> Instants:
    """Instants of an exposure: close together at first; `few` where heat changes slowly.

    `bounds` are the first target of each row's visit, and the first behind the last.
    """
    count, (first, end) = len(exposure.y), bounds
    rows = [0]
    while rows[-1] < count - 1:
        rows.append(rows[-1] + max(1, count // 3 if few else int(_STEADY * rows[-1])))
    row = np.array([row for row in rows if row < count], np.int64)
    time = np.append(exposure.at[row], max(exposure.ends, float(exposure.at[-1]) + 1e-9))
    low = np.minimum.accumulate(first[::-1])[::-1]
    high = np.maximum.accumulate(end)
    before = np.append(low[row[:1]], low[row])
    after = np.append(high[row[1:] - 1], [high[-1], high[-1]])
    return Instants(row, time, before, after)
