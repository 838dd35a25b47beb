"""What earlier strikes still give while a later one is under way.

It is worked out at a few instants, close together at first and further apart later, on those rows
that are about to be struck, and interpolated in time. Strikes that lie so far back that warmth has
spread wider than they are count as one Gaussian each, or as a few tiles; all others as rows and
lumps of rows.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from preprocess.marking.crossing import crossing
from preprocess.marking.march import warmth
from preprocess.marking.sources import REACH, Past, lumps_of, sources_of
from preprocess.marking.tiles import joined, tiles_of

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    from preprocess.marking.columns import Columns
    from preprocess.marking.march import Medium
    from preprocess.marking.records import Records
    from preprocess.marking.sources import Lumps, Sources
    from preprocess.marking.strikes import Strike

    Floats = NDArray[np.float64]
    Integers = NDArray[np.int64]

OLD = 2.0
"""A strike is one Gaussian once its longer side is below so many deviations of its warmth."""

MOST = 4
"""A strike is cut into at most so many tiles along each side, each of which is a Gaussian then."""

TRIFLE = 5e-5
"""Share of one row's own warmth below which an earlier strike is left out."""

STEADY = 0.25
"""Share by which the rows since the start may grow from one instant to the next."""


@dataclass(frozen=True, slots=True)
class Instants:
    """Rows at whose start the ground warmth is worked out, their times (s), and which rows need it.

    The last instant is the strike's end; `low` and `high` bound the rows of each instant.
    """

    row: Integers
    time: Floats
    low: Integers
    high: Integers


@dataclass(frozen=True, slots=True)
class Ground:
    """Warmth of earlier strikes on a set of columns, K: one image of rows per instant."""

    instants: Instants
    images: tuple[Floats, ...]

    def at(self, row: int, now: Floats) -> Callable[[int], Floats | float]:
        """While `row` is being struck, at a time in each column: warmth by row."""
        if not self.images:
            return _nothing
        instants = self.instants
        k = int(np.searchsorted(instants.row, row, side="right")) - 1
        share = (now - instants.time[k]) / (instants.time[k + 1] - instants.time[k])
        share = np.minimum(np.maximum(share, 0.0), 1.0)

        def of_row(j: int) -> Floats:
            one = self.images[k][j - instants.low[k]]
            other = self.images[k + 1][j - instants.low[k + 1]]
            return one * (1 - share) + other * share

        return of_row


def _nothing(_: int) -> float:
    return 0.0


@dataclass(frozen=True, slots=True)
class Earlier:
    """Strikes that came before one, sorted into those near in time and old ones."""

    strike: Strike
    medium: Medium
    instants: Instants
    near: tuple[Strike, ...]
    old: Records

    def on(self, columns: Columns) -> Ground:
        """Their warmth on some columns at every instant."""
        if not self.near and not len(self.old.energy):
            return Ground(self.instants, ())
        count = len(self.instants.time)
        images = [
            np.zeros((self.instants.high[k] - self.instants.low[k], columns.count))
            for k in range(count)
        ]
        for other in self.near:
            self._add_near(other, columns, images)
        if len(self.old.energy):
            for k in range(count):
                images[k] += self._old(columns, k)
        return Ground(self.instants, tuple(images))

    def _add_near(self, other: Strike, columns: Columns, images: list[Floats]) -> None:
        medium, instants = self.medium, self.instants
        youngest = max(0.0, float(instants.time[0]) - other.ends)
        oldest = float(instants.time[-1]) - other.begins
        variances = (
            medium.at_once + medium.gain * youngest,
            medium.at_once + medium.gain * oldest,
        )
        pick, seen = self._seen(other, columns, variances)
        for k in range(len(images)):
            rows = self.strike.y[instants.low[k] : instants.high[k]]
            which = pick(float(instants.time[k]), (float(rows[0]), float(rows[-1])))
            if len(which):
                now = np.full(columns.count, instants.time[k])
                warm, _ = warmth(medium, other.energy, seen, which, now)
                images[k] += warm.over(rows)

    def _seen(
        self, other: Strike, columns: Columns, variances: tuple[float, float]
    ) -> tuple[Callable[[float, tuple[float, float]], Integers], tuple[Lumps, Sources]]:
        medium = self.medium
        if other.angle == self.strike.angle:
            lumps = lumps_of(other)
            past = Past(other, lumps, medium.across, medium.gain)
            seen = lumps, sources_of(other, columns, *variances)
            return lambda now, near: past.upto(len(other.y), now, near), seen
        lumps, sources = crossing(
            other, self.strike.angle, columns, variances, max(self.strike.pitch, other.pitch)
        )

        def within(now: float, near: tuple[float, float]) -> Integers:
            reach = np.sqrt(REACH * (medium.across + medium.gain * (now - other.begins)))
            return np.flatnonzero((lumps.y > near[0] - reach) & (lumps.y < near[1] + reach))

        return within, (lumps, sources)

    def _old(self, columns: Columns, k: int) -> Floats:
        """Old strikes as Gaussians, on a coarse lattice that their warmth is smooth on."""
        low, high = self.instants.low[k], self.instants.high[k]
        rows, now = self.strike.y[low:high], float(self.instants.time[k])
        age = now - (self.old.begins + self.old.ends) / 2
        spread = self.medium.at_once + self.medium.gain * age[:, None] + self.old.variance
        step = 0.5 * float(np.sqrt(spread.min()))
        us = _lattice(float(columns.centres[0]), float(columns.centres[-1]), step)
        vs = _lattice(float(rows[0]), float(rows[-1]), step)
        along = _gauss(us[:, None] - self.old.centre[:, 0], spread[:, 0])
        across = _gauss(vs[:, None] - self.old.centre[:, 1], spread[:, 1] + self.medium.smooth)
        power = self.old.energy * self.medium.strength * self.medium.depth(age)
        coarse = (across * power) @ along.T
        fine = np.array([np.interp(columns.centres, us, line) for line in coarse])
        where = np.interp(rows, vs, np.arange(len(vs)))
        below = np.minimum(where.astype(int), max(0, len(vs) - 2))
        share = (where - below)[:, None]
        return fine[below] * (1 - share) + fine[np.minimum(below + 1, len(vs) - 1)] * share


def _gauss(away: Floats, variance: Floats) -> Floats:
    return np.exp(-(away**2) / (2 * variance)) / np.sqrt(2 * np.pi * variance)


def _lattice(low: float, high: float, step: float) -> Floats:
    return np.linspace(low, high, max(2, int(np.ceil((high - low) / step)) + 1))


def earlier_than(
    strikes: Sequence[Strike], records: Records, strike: Strike, medium: Medium, behind: Integers
) -> Earlier:
    """Sort out the strikes before one: too far to matter, old, or near.

    Args:
        strikes: all that came before.
        records: the same summed up, in the frame of the strike.
        strike: the one that is under way.
        medium: constants.
        behind: for each row the first one whose peak may still rise.
    """
    left, top = float(strike.start.min()), float(strike.y[0])
    right, bottom = float(strike.end.max()), float(strike.y[-1])
    box = records.box
    gap_u = np.maximum(0, np.maximum(box[:, 0] - right, left - box[:, 2]))
    gap_v = np.maximum(0, np.maximum(box[:, 1] - bottom, top - box[:, 3]))
    matters = _at_most(records, strike, medium, gap_u**2 + gap_v**2) > TRIFLE * _one_row(
        strike, medium
    )
    size = np.maximum(box[:, 2] - box[:, 0], box[:, 3] - box[:, 1])
    age = np.maximum(strike.begins - records.ends, 0.0)
    pieces = np.ceil(size / np.maximum(OLD * np.sqrt(medium.gain * age), 1e-9))
    old = (pieces <= MOST) & ((records.ends - records.begins) / pieces < age / 2)
    near = tuple(strikes[index] for index in np.flatnonzero(matters & ~old).tolist())
    whole = records.only(np.flatnonzero(matters & old & (pieces <= 1)))
    cut = np.flatnonzero(matters & old & (pieces > 1)).tolist()
    tiles = [tiles_of(strikes[index], int(pieces[index]), strike.angle) for index in cut]
    instants = _instants(strike, behind, few=not near)
    return Earlier(strike, medium, instants, near, joined([whole, *tiles]))


def _one_row(strike: Strike, medium: Medium) -> float:
    """Warmth of a single row under the beam, K."""
    at_first = float(medium.depth(np.zeros(1))[0])
    return strike.energy * medium.strength * at_first / float(np.sqrt(2 * np.pi * medium.across))


def _at_most(records: Records, strike: Strike, medium: Medium, square: Floats) -> Floats:
    """What earlier strikes can give at most, all their energy at the nearest point of their box.

    exp(−d²/2S)/S grows with S up to S = d²/2; S is what the ages allow that comes nearest to it.
    """
    youngest = np.maximum(strike.begins - records.ends, 0.0)
    least = medium.across + medium.gain * youngest
    most = medium.across + medium.gain * np.maximum(strike.ends - records.begins, youngest)
    variance = np.minimum(np.maximum(square / 2, least), most)
    flat = np.exp(-square / (2 * variance)) / (2 * np.pi * variance)
    return records.energy * medium.strength * medium.depth(youngest) * flat


def _instants(strike: Strike, behind: Integers, *, few: bool) -> Instants:
    count = len(strike.y)
    rows = [0]
    while rows[-1] < count - 1:
        rows.append(rows[-1] + max(1, count // 3 if few else int(STEADY * rows[-1])))
    rows = [row for row in rows if row < count]
    row = np.array(rows, np.int64)
    time = np.append(strike.at[row], max(strike.ends, float(strike.at[-1]) + 1e-9))
    before = np.append(behind[row[:1]], behind[row])
    after = np.append(row[1:], [count, count])
    return Instants(row, time, before, np.minimum(after + 1, count))
