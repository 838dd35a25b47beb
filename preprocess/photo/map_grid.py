"""The grid of a job's maps, and heat and rows brought onto it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from scipy.ndimage import gaussian_filter

from preprocess.geometry.base.row_frame import RowFrame
from preprocess.marking.heat.effort import Effort
from preprocess.marking.heat.index import heat_index
from preprocess.marking.solver.thermal_medium import thermal_medium_of
from preprocess.model.bench.filament import Filament

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.arrays import Booleans, Floats
    from preprocess.geometry.base.bounds import Bounds
    from preprocess.marking.heat.index_images import IndexImage
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.bench.bench import Bench

STEP = 0.2
"""Distance of two values of a map, mm; more where the part is large."""

MOST_VALUES = 150_000
SMOOTH = 0.12
"""mm over which measured tones and predicted heat are both averaged: lines of a print stay."""

_MELTED = 0.25
"""mm from row to row below which a photo shows neighbours as one tone."""

COOL_ROWS = 0.8
"""mm of first rows that find the plastic cold; they would rule every map."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MapGrid:
    """Values of a map: `origin` is the centre of the first (x, y, mm), `step` their distance."""

    origin: tuple[float, float]
    step: float
    shape: tuple[int, int]

    @property
    def places(self) -> Floats:
        """Centres: rows × columns × 2, mm."""
        y, x = np.indices(self.shape) * self.step
        return np.stack([x + self.origin[0], y + self.origin[1]], axis=-1)


def grid_of(box: Bounds) -> MapGrid:
    """The grid that covers a box (left, top, right, bottom, mm)."""
    left, top, right, bottom = box
    step = max(STEP, round(((right - left) * (bottom - top) / MOST_VALUES) ** 0.5, 2))
    high, wide = (max(1, int(np.ceil(side / step))) for side in (bottom - top, right - left))
    return MapGrid(origin=(left + step / 2, top + step / 2), step=step, shape=(high, wide))


def index_map(
    artwork: Artwork, bench: Bench, grid: MapGrid, spread: float | None = None
) -> tuple[Floats, Booleans]:
    """The predicted heat index on a grid, smoothed as a photo is, and where rows are warm.

    Args:
        artwork: as it was written.
        bench: machine, filament and part.
        grid: where values are wanted; nan where nothing is swept.
        spread: in place of that of the filament, mm.
    """
    if spread is not None:
        known = bench.filament or Filament(name="not known")
        bench = replace(bench, filament=replace(known, spread=spread))
    images = heat_index(artwork, bench, effort=Effort.BOUNDED).images
    total, count = np.zeros(grid.shape), np.zeros(grid.shape)
    warm = np.zeros(grid.shape, bool)
    for image in images:
        index, warmed = _on_grid(image, grid)
        seen = np.isfinite(index)
        total[seen] += index[seen]
        count[seen] += 1
        warm |= warmed
    found = np.where(count > 0, total / np.maximum(count, 1), np.nan)
    return smoothed(found, SMOOTH / grid.step), warm


def twice_the_spread(bench: Bench) -> float:
    """Twice the spread of the filament, or of the default where it is not known, mm."""
    return 2 * thermal_medium_of(bench.filament, bench.machine_or_default).spread


def smoothed(values: Floats, cells: float) -> Floats:
    """A map averaged over its neighbours (standard deviation in cells), within what is known."""
    known = np.isfinite(values)
    total = gaussian_filter(np.where(known, values, 0.0), cells)
    weight = gaussian_filter(known.astype(np.float64), cells)
    return np.where(known, total / np.maximum(weight, 1e-6), np.nan)


def _on_grid(image: IndexImage, grid: MapGrid) -> tuple[Floats, Booleans]:
    """Index of the nearest lit cell of an image, and where rows above it are lit, too."""
    places = grid.places
    u, v = RowFrame(image.angle).to_uv(places[..., 0], places[..., 1])
    row, on_row = _nearest(image.v, v)
    column, on_column = _nearest(image.u, u)
    inside = on_row & on_column
    row, column = np.where(inside, row, 0), np.where(inside, column, 0)
    lit = inside & image.lit[row, column]
    warm = _warm(image)[row, column] & lit
    return np.where(lit, _with_neighbours(image)[row, column], np.nan), warm


def _with_neighbours(image: IndexImage) -> Floats:
    """The index of each row with half of both beside it.

    Rows swept two ways are hot at one end and the next row at the other. A grid that met every
    second row only would take that for a slope across the part.
    """
    if len(image.v) < 2 or float(np.median(np.diff(image.v))) > _MELTED:  # noqa: PLR2004 - a row
        return image.index
    lit = image.lit.astype(np.float64)
    known = np.where(image.lit, image.index, 0.0)
    total, weight = (_one_two_one(held) for held in (known, lit))
    return np.asarray(total / np.maximum(weight, 0.5))


def _one_two_one(rows: Floats) -> Floats:
    around = np.pad(rows, ((1, 1), (0, 0)))
    return np.asarray(around[:-2] + 2 * rows + around[2:]) / 4


def _nearest(centres: Floats, values: Floats) -> tuple[np.ndarray, Booleans]:
    """Number of the nearest of ascending centres, and whether it is as near as they are apart."""
    if len(centres) == 1:
        return np.zeros(values.shape, np.int64), np.abs(values - centres[0]) < STEP
    pace = float(np.median(np.diff(centres)))
    after = np.clip(np.searchsorted(centres, values), 1, len(centres) - 1)
    before = after - 1
    near = np.where(values - centres[before] < centres[after] - values, before, after)
    return near, np.abs(values - centres[near]) <= max(pace, STEP) * 0.75


def _warm(image: IndexImage) -> Booleans:
    """Lit cells with lit ones all the way up to where the rows find the plastic warm."""
    above = int(np.searchsorted(image.v, image.v[0] + COOL_ROWS))
    run = np.zeros(image.lit.shape[1], np.int64)
    warm = np.zeros(image.lit.shape, bool)
    for number, lit in enumerate(image.lit):
        run = np.where(lit, run + 1, 0)
        warm[number] = run > above
    return warm


def extremes(values: Sequence[float] | Floats) -> tuple[float, float]:
    """Least and most of what is known."""
    known = np.asarray(values)[np.isfinite(values)]
    return float(known.min()), float(known.max())
