"""All strikes of one body in time order: what each row's points reach at their hottest."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from preprocess.marking.columns import Columns, columns_over, coverage
from preprocess.marking.earlier import earlier_than
from preprocess.marking.march import WINDOW, medium_of, warmth
from preprocess.marking.records import records_of
from preprocess.marking.sources import Past, lumps_of, sources_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from preprocess.marking.earlier import Ground
    from preprocess.marking.march import Medium, Warmth
    from preprocess.marking.plastic import Plastic
    from preprocess.marking.records import Records
    from preprocess.marking.sources import Lumps
    from preprocess.marking.strikes import Strike

    Floats = NDArray[np.float64]
    Image = NDArray[np.float32]
    Integers = NDArray[np.int64]

CHUNK = 256
"""Columns that are solved at a time: they fit the processor's cache."""

FULL = 0.999
"""Share of a column that a row must light for the column's middle to count."""


@dataclass(frozen=True, slots=True)
class Field:
    """One strike as images, rows × columns.

    `lit` says where it is lit; there, in K, `peak` is the hottest over time, smoothed across the
    rows, `spike` the warmth under the beam, unsmoothed, and `residual` what the beam found there.
    """

    strike: Strike
    columns: Columns
    lit: NDArray[np.bool_]
    peak: Image
    spike: Image
    residual: Image


def solve(strikes: Sequence[Strike], plastic: Plastic, step: float) -> tuple[Field, ...]:
    """Solve every strike of a body; `step` is the width of a column, mm."""
    medium = medium_of(plastic)
    angles = dict.fromkeys(strike.angle for strike in strikes)
    records = {angle: records_of(strikes, angle) for angle in angles}
    with ThreadPoolExecutor(2) as pool:
        return tuple(
            _solve(strikes[: n + 1], records[strike.angle].first(n), medium, step, pool)
            for n, strike in enumerate(strikes)
        )


def _solve(
    strikes: Sequence[Strike],
    before: Records,
    medium: Medium,
    step: float,
    pool: ThreadPoolExecutor,
) -> Field:
    strike = strikes[-1]
    columns = columns_over(float(strike.start.min()), float(strike.end.max()), step)
    rows = _rows(strike, medium)
    earlier = earlier_than(strikes[:-1], before, strike, medium, rows.behind)

    def part(some: Columns) -> tuple[NDArray[np.bool_], Image, Image, Image]:
        return lit_columns(strike, some), *_march(rows, medium, earlier.on(some), some)

    found = list(pool.map(part, _chunks(columns)))
    images = (np.concatenate(pieces, axis=1) for pieces in zip(*found, strict=True))
    return Field(strike, columns, *images)


def _chunks(columns: Columns) -> list[Columns]:
    pieces = -(-columns.count // CHUNK)
    ends = [columns.count * n // pieces for n in range(pieces + 1)]
    return [
        Columns(columns.left + a * columns.step, columns.step, b - a) for a, b in pairwise(ends)
    ]


@dataclass(frozen=True, slots=True)
class _Rows:
    """What the march needs of a strike.

    Its lumps, which of them matter to each row, and the first row whose peak each may still raise.
    """

    strike: Strike
    lumps: Lumps
    matter: tuple[Integers, ...]
    behind: Integers


def _rows(strike: Strike, medium: Medium) -> _Rows:
    lumps = lumps_of(strike)
    past = Past(strike, lumps, medium.across, medium.gain)
    behind = np.searchsorted(strike.y, strike.y - WINDOW * np.sqrt(medium.across))
    near = zip(strike.y[behind].tolist(), strike.y.tolist(), strict=True)
    matter = tuple(
        past.upto(row + 1, float(strike.at[row]), bounds) for row, bounds in enumerate(near)
    )
    return _Rows(strike, lumps, matter, behind)


def _march(
    rows: _Rows, medium: Medium, ground: Ground, some: Columns
) -> tuple[Image, Image, Image]:
    """Peak, spike and residual of all rows on some columns."""
    strike = rows.strike
    largest = medium.at_once + medium.gain * (strike.ends - strike.begins)
    sources = sources_of(strike, some, medium.at_once, largest)
    shape = (len(strike.y), some.count)
    peak, spike, residual = (np.zeros(shape, np.float32) for _ in range(3))
    for i, which in enumerate(rows.matter):
        now = sources.time[i]
        warm, alone = warmth(medium, strike.energy, (rows.lumps, sources), which, now)
        before = ground.at(i, now)
        for j in range(rows.behind[i], i + 1):
            np.maximum(peak[j], warm.at(float(strike.y[j])) + before(j), out=peak[j])
        sharp = _unsmoothed(warm, alone, float(strike.y[i]))
        residual[i] = sharp[1:].sum(axis=0) + before(i)
        spike[i] = residual[i] + sharp[0]
    return peak, spike, residual


def _unsmoothed(warm: Warmth, alone: Floats, y: float) -> Floats:
    """Warmth at one y by lump, newest first, with the beam's own width only."""
    weight = warm.weight * np.sqrt(-0.5 / (warm.spread * alone))
    return weight * np.exp(((y - warm.y) ** 2)[:, None] * (-0.5 / alone))


def lit_columns(strike: Strike, columns: Columns) -> NDArray[np.bool_]:
    """Columns that a row lights in full; of a run too short for that, the one in its middle."""
    lit = coverage(strike, columns) >= FULL
    middle = (strike.start + strike.end) / 2
    column = np.floor((middle - columns.left) / columns.step).astype(np.int64)
    short = strike.end - strike.start < 2 * columns.step
    short &= (column >= 0) & (column < columns.count)
    lit[strike.row[short], column[short]] = True
    return lit
