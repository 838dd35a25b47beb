"""All exposures of one body in time order: the peak temperature rise of every lit point."""

from __future__ import annotations

from collections import deque
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from preprocess.marking.solver.exposures import lit_length
from preprocess.marking.solver.field.evaluated_places import COARSE_LATTICE, evaluated_places
from preprocess.marking.solver.field.kept_work import KEPT, digest, places_and_times
from preprocess.marking.solver.field.lit_cells import lit_cells
from preprocess.marking.solver.field.peak_targets import peak_targets
from preprocess.marking.solver.field.residual_heat import residual_heat_before
from preprocess.marking.solver.field.unit_rises import exposure_rows, unit_rises
from preprocess.marking.solver.lumped_sources import lumped_sources
from preprocess.marking.solver.march import march_constants
from preprocess.marking.solver.row_images import ColumnGrid, column_grid
from preprocess.marking.solver.row_sources import kept_variances

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from concurrent.futures import Future

    from preprocess.arrays import Booleans, Floats32, Integers
    from preprocess.marking.solver.exposures import Exposure
    from preprocess.marking.solver.field.background_heat import BackgroundHeat
    from preprocess.marking.solver.field.evaluated_places import EvaluatedPlaces
    from preprocess.marking.solver.field.peak_targets import EarlierRows, PeakTargets
    from preprocess.marking.solver.field.residual_heat import TileCache
    from preprocess.marking.solver.field.unit_rises import ExposureRows
    from preprocess.marking.solver.lumped_sources import LumpedSources
    from preprocess.marking.solver.march import MarchConstants
    from preprocess.marking.solver.thermal_medium import ThermalMedium

    Images = tuple[Booleans, Floats32, Floats32, Floats32, Floats32, Floats32]
    Raised = list[tuple[EarlierRows, Booleans, Floats32]]
    _Solved = tuple[Images, ColumnGrid, Raised]

_AHEAD = 4
"""Exposures that may wait while an earlier one is being solved, so that no processor is idle."""

_CHUNK = 256
"""Columns that are solved at a time: they fit the processor's cache."""

_MEMORY = 48 << 20
"""Bytes that the light of a piece may take, about; two pieces are solved at a time."""


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
    KEPT.begin()
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
    rows = cache(lambda: exposure_rows(exposure, targets, constants))
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
        peaks, spike, rest = _march(rows, (exposure, targets), constants, ground, places)
        again = [
            (one, other.lit, places.by_column(peaks[:, one.place], cells))
            for one, other, cells in zip(targets.earlier, others, places.earlier, strict=True)
        ]
        peaks, spike, rest = (
            places.by_column(each, places.own) for each in (peaks[:, targets.own], spike, rest)
        )
        return (own.lit, own.share, own.aside(some), peaks, spike, rest), some, again

    chunks = tuple(pool.submit(part, some) for some in _chunks(exposure, constants, columns))
    return _Work(exposure, columns, targets, chunks)


def _chunks(exposure: Exposure, constants: MarchConstants, columns: ColumnGrid) -> list[ColumnGrid]:
    """Pieces of the columns, each few enough and small enough in memory."""
    largest = constants.at_once + constants.gain * (exposure.ends - exposure.begins)
    variances = len(kept_variances(constants.at_once, largest))
    short = int((exposure.end - exposure.start < columns.step).sum())
    places = columns.count + min(short, COARSE_LATTICE * columns.count)
    size = 2 * len(exposure.y) * variances * places * np.dtype(np.float32).itemsize
    pieces = min(columns.count, max(-(-columns.count // _CHUNK), -(-size // _MEMORY)))
    ends = [columns.count * n // pieces for n in range(pieces + 1)]
    return [
        ColumnGrid(columns.left + a * columns.step, columns.step, b - a) for a, b in pairwise(ends)
    ]


def _march(
    rows: Callable[[], ExposureRows],
    known: tuple[Exposure, PeakTargets],
    constants: MarchConstants,
    ground: BackgroundHeat,
    places: EvaluatedPlaces,
) -> tuple[Floats32, Floats32, Floats32]:
    """Peaks of all targets, spike and residual of the exposure's rows, where targets are lit."""
    (exposure, targets), lit = known, places.lit
    peaks = np.zeros((len(constants.smooths), *lit.shape), np.float32)
    spike, residual = (np.zeros((len(exposure.y), lit.shape[1]), np.float32) for _ in range(2))
    what = targets.y, targets.own, targets.first, targets.end
    key = constants, digest(places_and_times(exposure), *what, lit, places.beside, places.columns)
    for some in KEPT.each(key, lambda: unit_rises(rows(), constants, places)):
        at, before = (some.target, some.place), ground.at(some)
        risen = some.smoothed * exposure.energy + before
        peaks[:, *at] = np.maximum(peaks[:, *at], risen)
        if len(some.under):
            found = some.left * exposure.energy + before[0]
            residual[some.visit, some.place] = found
            spike[some.visit, some.place] = found + some.under * exposure.energy
    return peaks, spike, residual
