"""Residual heat of earlier exposures during a later one.

It is computed at a few instants, close together at first and further apart later, on those rows
that are about to be marked, and interpolated in time. Exposures that lie so far back that heat has
spread wider than they are count as one Gaussian each, or as a few tiles; all others as rows and
lumps of rows.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from preprocess.marking.solver.cross_angle import cross_angle_sources
from preprocess.marking.solver.field.background_heat import BackgroundHeat, instants_of
from preprocess.marking.solver.field.kept_work import KEPT, digest, places_and_times
from preprocess.marking.solver.field.lattices import between_points, lattice_over
from preprocess.marking.solver.lumped_sources import LumpedSources
from preprocess.marking.solver.march import temperature_rise
from preprocess.marking.solver.row_images import between_columns
from preprocess.marking.solver.row_sources import (
    NOWHERE,
    REACH,
    STENCIL,
    RowHistory,
    row_lumps,
    row_sources,
)
from preprocess.marking.solver.tiles import concatenated, exposure_tiles

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from preprocess.arrays import Booleans, Floats, Integers
    from preprocess.marking.solver.exposures import Exposure
    from preprocess.marking.solver.field.background_heat import Instants
    from preprocess.marking.solver.field.peak_targets import PeakTargets
    from preprocess.marking.solver.march import MarchConstants
    from preprocess.marking.solver.row_images import ColumnGrid
    from preprocess.marking.solver.row_sources import RowLumps, RowSources


TileCache = dict[tuple[int, int, float], LumpedSources]
"""Tiles by number of the exposure, count along a side and scan angle."""

_OLD = 2.0
"""An exposure is one Gaussian once its longer side is below so many deviations of its heat."""

_SMOOTH = 0.5
"""Deviations of the heat between computed points; between them it is interpolated."""

_MOST = 32
"""An exposure is cut into at most so many tiles along each side; each is a Gaussian then."""

_TRIFLE = 5e-5
"""Share of one row's own heat below which an earlier exposure is left out."""


@dataclass(frozen=True, slots=True)
class _NearRises:
    """Rises at an instant by an exposure of 1 J/mm, by smoothing: rows × columns, K mm/J.

    `coarse` are the rows' y, mm; None stands for every target of the instant.
    """

    instant: int
    coarse: tuple[Floats | None, ...]
    rises: tuple[Floats, ...]

    @property
    def nbytes(self) -> int:
        """Memory that they take."""
        return sum(one.nbytes for one in self.rises)


@dataclass(frozen=True, slots=True)
class ResidualHeat:
    """Exposures before one, sorted into those near in time and old ones.

    Their heat is wanted at rows at `y` (mm). Each entry of `old` holds Gaussians of about one
    width.
    """

    exposure: Exposure
    y: Floats
    constants: MarchConstants
    instants: Instants
    near: tuple[Exposure, ...]
    old: tuple[LumpedSources, ...]

    def on(self, columns: ColumnGrid, lit: Booleans, places: Floats = NOWHERE) -> BackgroundHeat:
        """Their heat on some columns at every instant, where a row is lit about then.

        After the columns come single places (u, mm) within them.
        """
        if len(places) and (self.near or self.old):
            wide = self.on(columns.wider(STENCIL), lit)
            assert wide.images is not None  # noqa: S101 - there is heat
            between = between_columns(wide.images, columns.wider(STENCIL), places)
            inner = wide.images[..., STENCIL:-STENCIL]
            return BackgroundHeat(self.instants, np.concatenate([inner, between], axis=-1))
        if not self.near and not self.old:
            return BackgroundHeat(self.instants, None)
        count, smoothings = len(self.instants.time), len(self.constants.smooths)
        targets = self.instants.high - self.instants.low
        whole = np.zeros((smoothings, int(targets.sum()), columns.count))
        images = np.split(whole, self.instants.image_begins[1:], axis=1)
        needed = [
            k for k in range(count) if lit[self.instants.low[k] : self.instants.high[k]].any()
        ]
        for other in self.near:
            self._add_near(other, columns, needed, images)
        for records in self.old:
            for k in needed:
                self._add_old(records, columns, k, images[k])
        return BackgroundHeat(self.instants, whole)

    def _add_near(
        self, other: Exposure, columns: ColumnGrid, needed: list[int], images: list[Floats]
    ) -> None:
        constants, instants = self.constants, self.instants
        youngest = max(0.0, float(instants.time[0]) - other.ends)
        oldest = float(instants.time[-1]) - other.begins
        variances = (
            constants.at_once + constants.gain * youngest,
            constants.at_once + constants.gain * oldest,
        )
        some = self._reached(other, columns, float(np.sqrt(REACH * variances[1])))
        if some.stop <= some.start or not needed:
            return
        columns = columns.only(some)
        what = self.exposure.angle, self.exposure.pitch, columns, variances, needed
        when = self.y, instants.time, instants.low, instants.high
        key = constants, digest(places_and_times(other), *what, *when)
        for one in KEPT.each(key, lambda: self._rises(other, columns, variances, needed)):
            rows = self.y[instants.low[one.instant] : instants.high[one.instant]]
            found = zip(images[one.instant], one.coarse, one.rises, strict=True)
            for image, coarse, rises in found:
                known = rows if coarse is None else coarse
                image[:, some] += between_points(rises, known, rows) * other.energy

    def _rises(
        self,
        other: Exposure,
        columns: ColumnGrid,
        variances: tuple[float, float],
        needed: list[int],
    ) -> Iterator[_NearRises]:
        """Rises by another exposure, were it of 1 J/mm, at every instant at which they matter."""
        instants = self.instants
        pick, seen = self._seen(other, columns, variances)
        every = np.arange(columns.count)
        for k in needed:
            rows = self.y[instants.low[k] : instants.high[k]]
            which = pick(float(instants.time[k]), (float(rows[0]), float(rows[-1])))
            if len(which):
                now = np.full(columns.count, instants.time[k])
                warms, _ = temperature_rise(self.constants, seen, which, now, every)
                lattices = [lattice_over(rows, _SMOOTH * warm.narrowest) for warm in warms]
                rises = [warm.over(y) for warm, y in zip(warms, lattices, strict=True)]
                coarse = tuple(None if y is rows else y for y in lattices)
                yield _NearRises(k, coarse, tuple(rises))

    def _reached(self, other: Exposure, columns: ColumnGrid, reach: float) -> slice:
        """Those columns that the heat of another exposure reaches."""
        if other.angle != self.exposure.angle:
            return slice(0, columns.count)
        least = (float(other.start.min()) - reach - columns.left) / columns.step
        most = (float(other.end.max()) + reach - columns.left) / columns.step
        return slice(max(0, math.floor(least)), min(columns.count, math.ceil(most)))

    def _seen(
        self, other: Exposure, columns: ColumnGrid, variances: tuple[float, float]
    ) -> tuple[Callable[[float, tuple[float, float]], Integers], tuple[RowLumps, RowSources]]:
        constants = self.constants
        if other.angle == self.exposure.angle:
            lumps = row_lumps(other)
            past = RowHistory(other, lumps, constants.across, constants.gain)
            seen = lumps, row_sources(other, columns, *variances)
            return lambda now, near: past.upto(len(other.y), now, near), seen
        lumps, sources = cross_angle_sources(
            other, self.exposure.angle, columns, variances, max(self.exposure.pitch, other.pitch)
        )

        def within(now: float, near: tuple[float, float]) -> Integers:
            reach = np.sqrt(REACH * (constants.across + constants.gain * (now - other.begins)))
            return np.flatnonzero((lumps.y > near[0] - reach) & (lumps.y < near[1] + reach))

        return within, (lumps, sources)

    def _add_old(self, records: LumpedSources, columns: ColumnGrid, k: int, image: Floats) -> None:
        """Gaussians within reach, on a lattice on which their heat is smooth."""
        low, high = self.instants.low[k], self.instants.high[k]
        rows, now = self.y[low:high], float(self.instants.time[k])
        us = columns.centres
        age = now - (records.begins + records.ends) / 2
        spread = self.constants.at_once + self.constants.gain * age[:, None] + records.variance
        widest = spread + np.array([0.0, max(self.constants.smooths)])
        ends = np.array([[us[0], rows[0]], [us[-1], rows[-1]]])
        away = np.maximum(0, np.maximum(ends[0] - records.centre, records.centre - ends[1]))
        some = np.flatnonzero((away**2 / widest).sum(axis=1) <= REACH)
        if not len(some):
            return
        centre, age, spread = records.centre[some], age[some], spread[some]
        narrowest = spread + np.array([0.0, min(self.constants.smooths)])
        step = _SMOOTH * float(np.sqrt(narrowest.min()))
        power = records.energy[some] * self.constants.strength * self.constants.depth(age)
        at_u, at_v = lattice_over(us, step), lattice_over(rows, step)
        along = _gauss(at_u[:, None] - centre[:, 0], spread[:, 0])
        for number, smooth in enumerate(self.constants.smooths):
            across = _gauss(at_v[:, None] - centre[:, 1], spread[:, 1] + smooth)
            coarse = (across * power) @ along.T
            image[number] += between_points(between_points(coarse, at_v, rows).T, at_u, us).T


def _gauss(away: Floats, variance: Floats) -> Floats:
    return np.exp(-(away**2) / (2 * variance)) / np.sqrt(2 * np.pi * variance)


def residual_heat_before(
    exposures: Sequence[Exposure],
    records: LumpedSources,
    exposure: Exposure,
    constants: MarchConstants,
    targets: PeakTargets,
    tiled: TileCache,
) -> ResidualHeat:
    """Sort out the exposures before one: too far to matter, old, or near.

    Args:
        exposures: all that came before.
        records: the same summed up, in the frame of the exposure.
        exposure: the one that is under way.
        constants: constants.
        targets: rows whose peaks it may raise.
        tiled: tiles that were cut before; new ones are added.
    """
    left, top = float(exposure.start.min()), float(targets.y[0])
    right, bottom = float(exposure.end.max()), float(targets.y[-1])
    box = records.box
    gap_u = np.maximum(0, np.maximum(box[:, 0] - right, left - box[:, 2]))
    gap_v = np.maximum(0, np.maximum(box[:, 1] - bottom, top - box[:, 3]))
    matters = _at_most(records, exposure, constants, gap_u**2 + gap_v**2) > _TRIFLE * _one_row(
        exposure, constants
    )
    size = np.maximum(box[:, 2] - box[:, 0], box[:, 3] - box[:, 1])
    age = np.maximum(exposure.begins - records.ends, 0.0)
    pieces = np.ceil(size / np.maximum(_OLD * np.sqrt(constants.gain * age), 1e-9))
    pieces = np.exp2(np.ceil(np.log2(np.maximum(pieces, 1))))
    old = (pieces <= _MOST) & ((records.ends - records.begins) / pieces < age / 2)
    near = tuple(exposures[index] for index in np.flatnonzero(matters & ~old).tolist())
    by_width: dict[int, list[LumpedSources]] = {}
    width = np.log2(np.maximum(constants.across + constants.gain * age, 1e-12)).astype(np.int64)
    for index in np.flatnonzero(matters & old).tolist():
        what = index, int(pieces[index]), exposure.angle
        if pieces[index] > 1 and what not in tiled:
            tiled[what] = exposure_tiles(exposures[index], *what[1:])
        one = tiled[what] if pieces[index] > 1 else records.only(np.array([index]))
        by_width.setdefault(int(width[index]), []).append(one)
    gaussians = tuple(concatenated(by_width[level]) for level in sorted(by_width))
    instants = instants_of(exposure, targets.bounds, few=not near)
    return ResidualHeat(exposure, targets.y, constants, instants, near, gaussians)


def _one_row(exposure: Exposure, constants: MarchConstants) -> float:
    """Temperature rise of a single row under the beam, K."""
    at_first = float(constants.depth(np.zeros(1))[0])
    return (
        exposure.energy
        * constants.strength
        * at_first
        / float(np.sqrt(2 * np.pi * constants.across))
    )


def _at_most(
    records: LumpedSources, exposure: Exposure, constants: MarchConstants, square: Floats
) -> Floats:
    """Upper bound of earlier exposures: all their energy at the nearest point of their box.

    exp(−d²/2S)/S grows with S up to S = d²/2; S is what the ages allow that comes nearest to it.
    """
    youngest = np.maximum(exposure.begins - records.ends, 0.0)
    least = constants.across + constants.gain * youngest
    most = constants.across + constants.gain * np.maximum(exposure.ends - records.begins, youngest)
    variance = np.minimum(np.maximum(square / 2, least), most)
    flat = np.exp(-square / (2 * variance)) / (2 * np.pi * variance)
    return records.energy * constants.strength * constants.depth(youngest) * flat
