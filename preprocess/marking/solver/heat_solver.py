"""All exposures of one body in time order: the peak temperature rise of every lit point."""

from __future__ import annotations

from collections import deque
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from preprocess.marking.solver.exposures import lit_length
from preprocess.marking.solver.lumped_sources import lumped_sources
from preprocess.marking.solver.march import (
    CACHE_ROOM,
    march_constants,
    temperature_rise,
)
from preprocess.marking.solver.residual_heat import residual_heat_before
from preprocess.marking.solver.row_images import ColumnGrid, column_coverage, column_grid
from preprocess.marking.solver.row_sources import RowHistory, row_lumps, row_sources

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence
    from concurrent.futures import Future

    from preprocess.arrays import Booleans, Floats, Floats32, Integers
    from preprocess.marking.solver.background_heat import BackgroundHeat
    from preprocess.marking.solver.exposures import Exposure
    from preprocess.marking.solver.lumped_sources import LumpedSources
    from preprocess.marking.solver.march import MarchConstants, TemperatureRise
    from preprocess.marking.solver.residual_heat import TileCache
    from preprocess.marking.solver.row_sources import RowLumps
    from preprocess.marking.solver.thermal_medium import ThermalMedium

    Images = tuple[Booleans, Floats32, Floats32, Floats32, Floats32]

_AHEAD = 4
"""Exposures that may wait while an earlier one is being solved, so that no processor is idle."""

_CHUNK = 256
"""Columns that are solved at a time: they fit the processor's cache."""

_ON_EDGE = 1e-6
"""Share of a column by which the middle of a run may lie before its edge: else, where pieces of the
columns are solved apart, rounding could leave it to neither of two."""

_FULL = 0.999
"""Share of a column that a row must light for the column's middle to count."""


@dataclass(frozen=True, slots=True)
class ExposureImages:
    """One exposure as images, rows × columns.

    `lit` says where it is lit, and `share` which part of each of these cells is: more than all of
    it where the end of a run in the next cell counts with it. There, in K, `peaks` are the hottest
    over time, smoothed across the rows (spreads × rows × columns), `spike` the rise under the beam,
    unsmoothed, and `residual` the heat left before it.
    """

    exposure: Exposure
    columns: ColumnGrid
    lit: Booleans
    share: Floats32
    peaks: Floats32
    spike: Floats32
    residual: Floats32

    @property
    def peak(self) -> Floats32:
        """The hottest over time at the likely spread, K."""
        return self.peaks[0]


def solve_heat(
    exposures: Sequence[Exposure],
    medium: ThermalMedium,
    step: float,
    chosen: Callable[[Exposure], bool] | None = None,
    tell: Callable[[float], None] = lambda _: None,
) -> tuple[ExposureImages, ...]:
    """Solve every exposure of a body, or those that are chosen, in the heat of all before them.

    `step` is the width of a column, mm. `tell` is called with the lit length (mm) of what is done.
    """
    constants = march_constants(medium)
    angles = dict.fromkeys(exposure.angle for exposure in exposures)
    records = {angle: lumped_sources(exposures, angle) for angle in angles}
    tiled: TileCache = {}
    fields: list[ExposureImages] = []
    waiting: deque[_Work] = deque()
    with ThreadPoolExecutor(2) as pool:
        for n, exposure in enumerate(exposures):
            if chosen is not None and not chosen(exposure):
                continue
            before = records[exposure.angle].first(n), tiled
            waiting.append(_begun(exposures[: n + 1], before, constants, step, pool))
            if len(waiting) > _AHEAD:
                fields.append(waiting.popleft().field(tell))
        return (*fields, *(work.field(tell) for work in waiting))


@dataclass(frozen=True, slots=True)
class _Work:
    """One exposure being solved: images of each chunk of its columns will follow."""

    exposure: Exposure
    columns: ColumnGrid
    chunks: tuple[Future[Images], ...]

    def field(self, tell: Callable[[float], None]) -> ExposureImages:
        """The whole, as soon as all chunks are done."""
        each, found = lit_length(self.exposure) / len(self.chunks), []
        for chunk in self.chunks:
            found.append(chunk.result())
            tell(each)
        images = (np.concatenate(pieces, axis=-1) for pieces in zip(*found, strict=True))
        return ExposureImages(self.exposure, self.columns, *images)


def _begun(
    exposures: Sequence[Exposure],
    before: tuple[LumpedSources, TileCache],
    constants: MarchConstants,
    step: float,
    pool: ThreadPoolExecutor,
) -> _Work:
    exposure = exposures[-1]
    columns = column_grid(float(exposure.start.min()), float(exposure.end.max()), step)
    rows = _rows(exposure, constants)
    records, tiled = before
    earlier = residual_heat_before(
        exposures[:-1], records, exposure, constants, rows.furthest, tiled
    )

    def part(some: ColumnGrid) -> Images:
        lit, share = lit_cells(exposure, some)
        if not lit.any():
            dark = np.zeros(lit.shape, np.float32)
            return lit, dark, np.stack([dark] * len(constants.smooths)), dark, dark
        return lit, share, *_march(rows, constants, earlier.on(some, lit), some, lit)

    return _Work(exposure, columns, tuple(pool.submit(part, some) for some in _chunks(columns)))


def _chunks(columns: ColumnGrid) -> list[ColumnGrid]:
    pieces = -(-columns.count // _CHUNK)
    ends = [columns.count * n // pieces for n in range(pieces + 1)]
    return [
        ColumnGrid(columns.left + a * columns.step, columns.step, b - a) for a, b in pairwise(ends)
    ]


@dataclass(frozen=True, slots=True)
class _Rows:
    """Values of an exposure for the march.

    Its lumps, which of them matter to each row, and the first row whose peak each may still raise
    at each spread.
    """

    exposure: Exposure
    lumps: RowLumps
    matter: tuple[Integers, ...]
    behind: tuple[Integers, ...]

    @property
    def furthest(self) -> Integers:
        """The first row whose peak each may still raise at any spread."""
        return np.min(self.behind, axis=0)


def _rows(exposure: Exposure, constants: MarchConstants) -> _Rows:
    lumps = row_lumps(exposure)
    past = RowHistory(exposure, lumps, constants.across, constants.gain)
    windows = constants.windows
    behind = tuple(np.searchsorted(exposure.y, exposure.y - window) for window in windows)
    furthest = np.min(behind, axis=0)
    near = zip(exposure.y[furthest].tolist(), exposure.y.tolist(), strict=True)
    matter = tuple(
        past.upto(row + 1, float(exposure.at[row]), bounds) for row, bounds in enumerate(near)
    )
    return _Rows(exposure, lumps, matter, behind)


def _march(
    rows: _Rows, constants: MarchConstants, ground: BackgroundHeat, some: ColumnGrid, lit: Booleans
) -> tuple[Floats32, Floats32, Floats32]:
    """Peak, spike and residual of all rows on some columns, where they are lit."""
    exposure = rows.exposure
    largest = constants.at_once + constants.gain * (exposure.ends - exposure.begins)
    sources = row_sources(exposure, some, constants.at_once, largest)
    peaks = np.zeros((len(constants.smooths), *lit.shape), np.float32)
    spike, residual = (np.zeros(lit.shape, np.float32) for _ in range(2))
    for visits in _together(rows.matter, some.count):
        behind = rows.furthest[visits]
        here = np.flatnonzero(lit[behind[0] : visits[-1] + 1].any(axis=0))
        if not len(here):
            continue
        now, seen = sources.time[visits[:, None], here], (rows.lumps, sources)
        which, real = _padded([rows.matter[visit] for visit in visits.tolist()])
        warms, alone = temperature_rise(constants, exposure.energy, seen, which, now, here)
        before = ground.during(visits, now, here)
        for number, warm in enumerate(warms):
            warm.weight[~real] = 0.0
            behind, peak = rows.behind[number][visits], peaks[number]
            for back in range(int((visits - behind).max()) + 1):
                row = np.maximum(visits - back, behind)
                value = warm.at(exposure.y[row]) + before(row, number)
                mine = visits - back >= behind
                at = row[mine][:, None], here
                peak[at] = np.maximum(peak[at], value[mine])
        sharp = _unsmoothed(warms[0], alone, exposure.y[visits])
        residual[visits[:, None], here] = found = sharp[:, 1:].sum(axis=1) + before(visits, 0)
        spike[visits[:, None], here] = found + sharp[:, 0]
    return peaks, spike, residual


def _together(matter: Sequence[Integers], columns: int) -> Iterator[Integers]:
    """Numbers of neighbouring visits that are worked on at once: as many as fit the cache."""
    first = 0
    while first < len(matter):
        count = max(1, CACHE_ROOM // (columns * len(matter[first])))
        yield np.arange(first, min(first + count, len(matter)))
        first += count


def _padded(lists: Sequence[Integers]) -> tuple[Integers, Booleans]:
    """Lists of lumps made equally long, and which of their entries are real."""
    long = max(map(len, lists))
    which = np.zeros((len(lists), long), np.int64)
    real = np.arange(long) < np.array([len(one) for one in lists])[:, None]
    which[real] = np.concatenate(lists)
    return which, real


def _unsmoothed(warm: TemperatureRise, alone: Floats, y: Floats) -> Floats:
    """Rise at one y of each visit by lump, newest first, with the beam's own width only."""
    weight = warm.weight * np.sqrt(-0.5 / (warm.spread * alone))
    return weight * np.exp(((y[:, None] - warm.y) ** 2)[:, :, None] * (-0.5 / alone))


def lit_cells(exposure: Exposure, columns: ColumnGrid) -> tuple[Booleans, Floats32]:
    """Cells that count as lit, and the lit share of each: rows × columns.

    Together the shares make up the lit length of each row: what is lit of a cell that does not
    count is added to its neighbours that do.
    """
    wide = columns.wider(2)
    cover = column_coverage(exposure, wide)
    lit = _lit_columns(exposure, wide, cover)
    beside = np.pad(lit, ((0, 0), (1, 1))).astype(np.float64)
    given = np.where(lit, 0.0, cover) / np.maximum(beside[:, :-2] + beside[:, 2:], 1.0)
    given = np.pad(given, ((0, 0), (1, 1)))
    share = np.where(lit, cover + given[:, :-2] + given[:, 2:], 0.0)
    return lit[:, 2:-2], share[:, 2:-2].astype(np.float32)


def lit_columns(exposure: Exposure, columns: ColumnGrid) -> Booleans:
    """Columns that a row lights in full; of a run too short for that, the one in its middle."""
    return _lit_columns(exposure, columns, column_coverage(exposure, columns))


def _lit_columns(exposure: Exposure, columns: ColumnGrid, cover: Floats) -> Booleans:
    lit = cover >= _FULL
    middle = (exposure.start + exposure.end) / 2
    column = np.floor((middle - columns.left) / columns.step + _ON_EDGE).astype(np.int64)
    short = exposure.end - exposure.start < 2 * columns.step
    short &= (column >= 0) & (column < columns.count)
    lit[exposure.row[short], column[short]] = True
    return lit
