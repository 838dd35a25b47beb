"""Rises by an exposure of 1 J/mm at the cells that each visit of its beam may raise.

They depend on places and times alone, not on power: the same job at other powers has the same.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING

import numpy as np

from preprocess.marking.solver.kernels import own_row
from preprocess.marking.solver.march import CACHE_ROOM, temperature_rise
from preprocess.marking.solver.row_sources import RowHistory, row_lumps, row_sources

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from preprocess.arrays import Booleans, Floats, Indices, Integers, Integers32
    from preprocess.marking.solver.exposures import Exposure
    from preprocess.marking.solver.field.evaluated_places import EvaluatedPlaces
    from preprocess.marking.solver.field.peak_targets import PeakTargets
    from preprocess.marking.solver.kernels import OwnRow
    from preprocess.marking.solver.march import MarchConstants, TemperatureRise
    from preprocess.marking.solver.row_sources import RowLumps

_BLOCK = 100_000
"""Rises that are handed over at once, about."""


@dataclass(frozen=True, slots=True)
class ExposureRows:
    """Values of an exposure for the march.

    Its lumps, which of them matter to each row, the rows whose peaks each may raise, and how hot a
    row gets under the beam itself.
    """

    exposure: Exposure
    own: OwnRow
    lumps: RowLumps
    matter: tuple[Integers, ...]
    targets: PeakTargets


@dataclass(frozen=True, slots=True)
class UnitRises:
    """Rises at some cells, no cell twice; K mm/J.

    Each is that by one `visit` of the beam at a `target` and a `place`, at the time `now` (s).
    `smoothed` is smoothings × cells, -inf beyond the reach of a smoothing. Of the visited rows
    themselves, `left` is what earlier rows left there unsmoothed, and `under` what the beam adds;
    both are empty of others.
    """

    visit: Integers32
    target: Integers32
    place: Integers32
    now: Floats
    smoothed: Floats
    left: Floats
    under: Floats

    @property
    def nbytes(self) -> int:
        """Memory that they take."""
        return sum(getattr(self, each.name).nbytes for each in fields(self))


def exposure_rows(
    exposure: Exposure, targets: PeakTargets, constants: MarchConstants
) -> ExposureRows:
    """Find what matters to each row of an exposure."""
    lumps = row_lumps(exposure)
    past = RowHistory(exposure, lumps, constants.across, constants.gain)
    first, end = targets.bounds
    near = zip(targets.y[first].tolist(), targets.y[end - 1].tolist(), strict=True)
    matter = tuple(
        past.upto(row + 1, float(exposure.at[row]), bounds) for row, bounds in enumerate(near)
    )
    sigma = float(np.sqrt(constants.at_once))
    own = own_row(constants.solid, sigma, constants.smooths, exposure.speed)
    return ExposureRows(exposure, own, lumps, matter, targets)


def unit_rises(
    rows: ExposureRows, constants: MarchConstants, places: EvaluatedPlaces
) -> Iterator[UnitRises]:
    """Rises at the lit cells of all targets by every visit, a block of cells after another."""
    exposure, targets, lit = rows.exposure, rows.targets, places.lit
    largest = constants.at_once + constants.gain * (exposure.ends - exposure.begins)
    sources = row_sources(exposure, places.columns, constants.at_once, largest, places.beside)
    lowest, highest = targets.bounds
    found: dict[int, list[UnitRises]] = {}
    count = 0
    for visits in _together(rows.matter, lit.shape[1]):
        reached = lit[lowest[visits].min() : highest[visits].max()]
        here = np.flatnonzero(reached.any(axis=0))
        if not len(here):
            continue
        now = sources.time[visits[:, None], here] + rows.own.lag
        which, real = _padded([rows.matter[visit] for visit in visits.tolist()])
        warms, alone = temperature_rise(constants, (rows.lumps, sources), which, now, here)
        for number, warm in enumerate(warms):
            warm.weight[~real] = 0.0
            warm.weight[:, 0] *= rows.own.smoothed[number]  # the newest is the row under the beam
        seen = _Seen(visits, here, now, warms, alone)
        for beside, some in _beside(rows, seen, lit):
            found.setdefault(beside, []).append(some)
            count += len(some.visit)
        if count >= _BLOCK:
            yield from map(_joined, found.values())
            found, count = {}, 0
    yield from map(_joined, found.values())


@dataclass(frozen=True, slots=True)
class _Seen:
    """Some visits at some places: visits × places their times (s), and the rise of all lumps.

    `alone` is the variance across the rows that the beam alone gives each lump, mm².
    """

    visits: Integers
    here: Integers
    now: Floats
    warms: tuple[TemperatureRise, ...]
    alone: Floats


def _beside(rows: ExposureRows, seen: _Seen, lit: Booleans) -> Iterator[tuple[int, UnitRises]]:
    """Rises at targets so many beside the visited rows: of several visits no cell is the same."""
    targets, visits = rows.targets, seen.visits
    own, (lowest, highest) = targets.own[visits], targets.bounds
    low, high = lowest[visits], highest[visits]
    for beside in range(int((low - own).min()), int((high - own).max())):
        target = own + beside
        mine = np.flatnonzero((target >= low) & (target < high))
        row, column = np.nonzero(lit[target[mine]][:, seen.here])
        if not len(row):
            continue
        row = mine[row]
        at, visit = target[row], visits[row]
        y = targets.y[np.clip(target, 0, len(targets.y) - 1)]
        smoothed = np.stack([warm.at(row, column, y) for warm in seen.warms])
        smoothed[(at < targets.first[:, visit]) | (at >= targets.end[:, visit])] = -np.inf
        left = under = np.empty(0)
        if not beside:
            sharp = _unsmoothed(seen, row, column, y[row])
            left = sharp[:, 1:].sum(axis=1)
            under = sharp[:, 0] * (rows.own.alone / rows.own.smoothed[0])
        yield (
            beside,
            UnitRises(
                visit.astype(np.int32),
                at.astype(np.int32),
                seen.here[column].astype(np.int32),
                seen.now[row, column],
                smoothed,
                left,
                under,
            ),
        )


def _unsmoothed(seen: _Seen, row: Indices, column: Indices, y: Floats) -> Floats:
    """Rise by lump, newest first, with the beam's own width only: cells × lumps."""
    warm, alone = seen.warms[0], seen.alone[row, :, column]
    weight = warm.weight[row, :, column] * np.sqrt(-0.5 / (warm.spread[row, :, column] * alone))
    return np.asarray(weight * np.exp((y[:, None] - warm.y[row]) ** 2 * (-0.5 / alone)))


def _joined(some: Sequence[UnitRises]) -> UnitRises:
    names = [each.name for each in fields(UnitRises)]
    return UnitRises(*(np.concatenate([getattr(s, n) for s in some], axis=-1) for n in names))


def _together(matter: Sequence[Integers], columns: int) -> Iterator[Integers]:
    """Numbers of neighbouring visits that are worked on at once: as many as fit the cache."""
    first, longest = 0, 0
    for visit, lumps in enumerate(matter):
        longest = max(longest, len(lumps))
        if visit > first and (visit + 1 - first) * columns * longest > CACHE_ROOM:
            yield np.arange(first, visit)
            first, longest = visit, len(lumps)
    yield np.arange(first, len(matter))


def _padded(lists: Sequence[Integers]) -> tuple[Integers, Booleans]:
    """Lists of lumps made equally long, and which of their entries are real."""
    long = max(map(len, lists))
    which = np.zeros((len(lists), long), np.int64)
    real = np.arange(long) < np.array([len(one) for one in lists])[:, None]
    which[real] = np.concatenate(lists)
    return which, real
