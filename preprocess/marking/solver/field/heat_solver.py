"""All exposures of one body in time order: the peak temperature rise of every lit point."""

from __future__ import annotations

from collections import deque
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from preprocess.marking.solver.exposures import lit_length
from preprocess.marking.solver.field.evaluated_places import evaluated_places
from preprocess.marking.solver.field.lit_cells import lit_cells
from preprocess.marking.solver.field.peak_targets import peak_targets
from preprocess.marking.solver.field.residual_heat import residual_heat_before
from preprocess.marking.solver.kernels import own_row
from preprocess.marking.solver.lumped_sources import lumped_sources
from preprocess.marking.solver.march import (
    CACHE_ROOM,
    march_constants,
    temperature_rise,
)
from preprocess.marking.solver.row_images import ColumnGrid, column_grid
from preprocess.marking.solver.row_sources import RowHistory, row_lumps, row_sources

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence
    from concurrent.futures import Future

    from preprocess.arrays import Booleans, Floats, Floats32, Integers
    from preprocess.marking.solver.exposures import Exposure
    from preprocess.marking.solver.field.background_heat import BackgroundHeat
    from preprocess.marking.solver.field.evaluated_places import EvaluatedPlaces
    from preprocess.marking.solver.field.peak_targets import EarlierRows, PeakTargets
    from preprocess.marking.solver.field.residual_heat import TileCache
    from preprocess.marking.solver.kernels import OwnRow
    from preprocess.marking.solver.lumped_sources import LumpedSources
    from preprocess.marking.solver.march import MarchConstants, TemperatureRise
    from preprocess.marking.solver.row_sources import RowLumps
    from preprocess.marking.solver.thermal_medium import ThermalMedium

    Images = tuple[Booleans, Floats32, Floats32, Floats32, Floats32, Floats32]
    Raised = list[tuple[EarlierRows, Booleans, Floats32]]
    _Solved = tuple[Images, ColumnGrid, Raised]

_AHEAD = 4
"""Exposures that may wait while an earlier one is being solved, so that no processor is idle."""

_CHUNK = 256
"""Columns that are solved at a time: they fit the processor's cache."""


@dataclass(frozen=True, slots=True)
class ExposureImages:
    """One exposure as images, rows × columns.

    `lit` says where it is lit, and `share` which part of each of these cells is: more than all of
    it where the end of a run in the next cell counts with it. A cell is evaluated in the middle of
    its column, or where the run is too short for that, `aside` of it, in the run's own (mm). There,
    in K, `peaks` are the hottest over time, smoothed across the rows (spreads × rows × columns),
    `spike` the rise under the beam, unsmoothed, and `residual` the heat left before it.
    """

    exposure: Exposure
    columns: ColumnGrid
    lit: Booleans
    share: Floats32
    aside: Floats32
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
    fields: dict[int, ExposureImages] = {}
    waiting: deque[tuple[int, _Work]] = deque()

    def finish() -> None:
        number, work = waiting.popleft()
        fields[number] = work.field(fields, tell)

    with ThreadPoolExecutor(2) as pool:
        for n, exposure in enumerate(exposures):
            if chosen is not None and not chosen(exposure):
                continue
            past = records[exposure.angle].first(n)
            wanted = [*fields, *(number for number, _ in waiting)]
            targets = peak_targets(exposures[: n + 1], past, constants, wanted)
            before = past, tiled
            work = _begun(exposures[: n + 1], before, targets, constants, step, pool)
            waiting.append((n, work))
            if len(waiting) > _AHEAD:
                finish()
        while waiting:
            finish()
    return tuple(fields.values())


@dataclass(frozen=True, slots=True)
class _Work:
    """One exposure being solved: images of each chunk of its columns will follow."""

    exposure: Exposure
    columns: ColumnGrid
    targets: PeakTargets
    chunks: tuple[Future[_Solved], ...]

    def field(
        self, fields: Mapping[int, ExposureImages], tell: Callable[[float], None]
    ) -> ExposureImages:
        """The whole, as soon as all chunks are done; it raises peaks of earlier ones."""
        each, found = lit_length(self.exposure) / len(self.chunks), []
        for chunk in self.chunks:
            images, some, again = chunk.result()
            for earlier, lit, peaks in again:
                _raise(fields[earlier.number], earlier.rows, some, lit, peaks)
            found.append(images)
            tell(each)
        whole = (np.concatenate(pieces, axis=-1) for pieces in zip(*found, strict=True))
        return ExposureImages(self.exposure, self.columns, *whole)


def _raise(
    field: ExposureImages, rows: Integers, some: ColumnGrid, lit: Booleans, peaks: Floats32
) -> None:
    """Raise the peaks of some rows on some columns to new ones, where they are lit."""
    away = round((some.left - field.columns.left) / some.step)
    first, last = max(0, -away), min(some.count, field.columns.count - away)
    if first >= last:
        return
    here = slice(first + away, last + away)
    old = field.peaks[:, rows, here]
    new = np.where(lit[rows, first:last], peaks[:, :, first:last], 0.0)
    field.peaks[:, rows, here] = np.maximum(old, new)


def _begun(
    exposures: Sequence[Exposure],
    before: tuple[LumpedSources, TileCache],
    targets: PeakTargets,
    constants: MarchConstants,
    step: float,
    pool: ThreadPoolExecutor,
) -> _Work:
    exposure = exposures[-1]
    columns = column_grid(float(exposure.start.min()), float(exposure.end.max()), step)
    rows = _rows(exposure, targets, constants)
    records, tiled = before
    residual = residual_heat_before(exposures[:-1], records, exposure, constants, targets, tiled)

    def part(some: ColumnGrid) -> _Solved:
        own = lit_cells(exposure, some)
        if not own.lit.any():
            dark = np.zeros(own.lit.shape, np.float32)
            peaks = np.stack([dark] * len(constants.smooths))
            return (own.lit, dark, dark, peaks, dark, dark), some, []
        others = [lit_cells(one.exposure, some) for one in targets.earlier]
        places = evaluated_places(targets, own, others, some)
        ground = residual.on(some, places.lit, places.beside)
        peaks, spike, rest = _march(rows, constants, ground, places)
        again = [
            (one, other.lit, places.by_column(peaks[:, one.place], cells))
            for one, other, cells in zip(targets.earlier, others, places.earlier, strict=True)
        ]
        peaks, spike, rest = (
            places.by_column(each, places.own) for each in (peaks[:, targets.own], spike, rest)
        )
        return (own.lit, own.share, own.aside(some), peaks, spike, rest), some, again

    chunks = tuple(pool.submit(part, some) for some in _chunks(columns))
    return _Work(exposure, columns, targets, chunks)


def _chunks(columns: ColumnGrid) -> list[ColumnGrid]:
    pieces = -(-columns.count // _CHUNK)
    ends = [columns.count * n // pieces for n in range(pieces + 1)]
    return [
        ColumnGrid(columns.left + a * columns.step, columns.step, b - a) for a, b in pairwise(ends)
    ]


@dataclass(frozen=True, slots=True)
class _Rows:
    """Values of an exposure for the march.

    Its lumps, which of them matter to each row, the rows whose peaks each may raise, and how hot a
    row gets under the beam itself.
    """

    exposure: Exposure
    own: OwnRow
    lumps: RowLumps
    matter: tuple[Integers, ...]
    targets: PeakTargets


def _rows(exposure: Exposure, targets: PeakTargets, constants: MarchConstants) -> _Rows:
    lumps = row_lumps(exposure)
    past = RowHistory(exposure, lumps, constants.across, constants.gain)
    first, end = targets.bounds
    near = zip(targets.y[first].tolist(), targets.y[end - 1].tolist(), strict=True)
    matter = tuple(
        past.upto(row + 1, float(exposure.at[row]), bounds) for row, bounds in enumerate(near)
    )
    sigma = float(np.sqrt(constants.at_once))
    own = own_row(constants.solid, sigma, constants.smooths, exposure.speed)
    return _Rows(exposure, own, lumps, matter, targets)


def _march(
    rows: _Rows, constants: MarchConstants, ground: BackgroundHeat, places: EvaluatedPlaces
) -> tuple[Floats32, Floats32, Floats32]:
    """Peaks of all targets, spike and residual of the exposure's rows, where targets are lit."""
    exposure, targets, lit = rows.exposure, rows.targets, places.lit
    largest = constants.at_once + constants.gain * (exposure.ends - exposure.begins)
    some = places.columns
    sources = row_sources(exposure, some, constants.at_once, largest, places.beside)
    peaks = np.zeros((len(constants.smooths), *lit.shape), np.float32)
    spike, residual = (np.zeros((len(exposure.y), lit.shape[1]), np.float32) for _ in range(2))
    lowest, highest = targets.bounds
    for visits in _together(rows.matter, lit.shape[1]):
        reached = lit[lowest[visits].min() : highest[visits].max()]
        here = np.flatnonzero(reached.any(axis=0))
        if not len(here):
            continue
        now = sources.time[visits[:, None], here] + rows.own.lag
        seen = rows.lumps, sources
        which, real = _padded([rows.matter[visit] for visit in visits.tolist()])
        warms, alone = temperature_rise(constants, exposure.energy, seen, which, now, here)
        before, own = ground.during(visits, now, here), targets.own[visits]
        for number, warm in enumerate(warms):
            warm.weight[~real] = 0.0
            warm.weight[:, 0] *= rows.own.smoothed[number]  # the newest is the row under the beam
            first, end = targets.first[number][visits], targets.end[number][visits]
            for beside in range(int((first - own).min()), int((end - own).max())):
                row = np.clip(own + beside, first, end - 1)
                value = warm.at(targets.y[row]) + before(row, number)
                mine = row == own + beside
                at = row[mine][:, None], here
                peaks[number][at] = np.maximum(peaks[number][at], value[mine])
        under = rows.own.alone / rows.own.smoothed[0]
        sharp = _unsmoothed(warms[0], alone, exposure.y[visits])
        residual[visits[:, None], here] = found = sharp[:, 1:].sum(axis=1) + before(own, 0)
        spike[visits[:, None], here] = found + sharp[:, 0] * under
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
