"""Rows as images: how much of each column they light, when the beam was there, how it blurs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from preprocess.geometry.base.ranges import expand_ranges

if TYPE_CHECKING:
    from preprocess.arrays import Floats, Floats32, Integers
    from preprocess.marking.solver.exposures import Exposure


@dataclass(frozen=True, slots=True)
class ColumnGrid:
    """Equal columns along the rows: `count` of them, `step` mm wide, the first from `left` on."""

    left: float
    step: float
    count: int

    @property
    def centres(self) -> Floats:
        """The u of the middle of each column, mm."""
        return np.asarray(self.left + self.step * (np.arange(self.count) + 0.5))

    @property
    def edges(self) -> Floats:
        """The u of the edges, one more than there are columns, mm."""
        return np.asarray(self.left + self.step * np.arange(self.count + 1))

    def holding(self, places: Floats) -> Integers:
        """The column that holds each place (u, mm) within them."""
        column = np.floor((places - self.left) / self.step).astype(np.int64)
        return np.clip(column, 0, self.count - 1)

    def finer(self, by: int) -> ColumnGrid:
        """The same, each cut into so many."""
        return ColumnGrid(self.left, self.step / by, self.count * by)

    def only(self, some: slice) -> ColumnGrid:
        """Some of them, by number."""
        return ColumnGrid(self.left + some.start * self.step, self.step, some.stop - some.start)

    def wider(self, by: int) -> ColumnGrid:
        """The same with `by` columns more on both sides."""
        return ColumnGrid(self.left - by * self.step, self.step, self.count + 2 * by)


def column_grid(start: float, end: float, step: float) -> ColumnGrid:
    """Columns that cover [start, end], on one grid for all of a page: edges at multiples."""
    first, last = np.floor(start / step + 1e-9), np.ceil(end / step - 1e-9)
    return ColumnGrid(float(first * step), step, max(1, int(last - first)))


def between_columns(values: Floats | Floats32, columns: ColumnGrid, places: Floats) -> Floats:
    """Values of columns, on the last axis, at places (u, mm): by cubics through four of them."""
    at = (places - columns.left) / columns.step - 0.5
    low = np.clip(np.floor(at).astype(np.int64) - 1, 0, columns.count - 4)
    t = at - low - 1
    weights = (
        -t * (t - 1) * (t - 2) / 6,
        (t + 1) * (t - 1) * (t - 2) / 2,
        -(t + 1) * t * (t - 2) / 2,
        (t + 1) * t * (t - 1) / 6,
    )
    return sum((w * values[..., low + n] for n, w in enumerate(weights)), np.zeros(()))


def column_coverage(exposure: Exposure, columns: ColumnGrid) -> Floats:
    """Share of each column that each row lights, rows × columns; exact for any number of runs.

    Where a run has only a share of the light, it counts by that.
    From where a run begins, the rest of its column and all of the later ones are lit; from where it
    ends they are dark again.
    """
    lit, light = np.zeros((len(exposure.y), columns.count)), exposure.relative
    for sign, ends in ((light, exposure.start), (-light, exposure.end)):
        column, into = _place(ends, columns)
        lit += _summed(exposure, columns, column, sign * (1 - into))
        lit += _summed(exposure, columns, column + 1, sign * into)
    return np.cumsum(lit, axis=1)


def centred_coverage(exposure: Exposure, columns: ColumnGrid) -> Floats:
    """Coverage with the light of partly lit columns put where it is: its centre is kept.

    What lies beside a column's middle by m (in columns, weighted by coverage) is added to the
    neighbours as +m/2 and −m/2; blurred, that is light in the right place.
    """
    share = column_coverage(exposure, columns)
    aside, light = np.zeros_like(share), exposure.relative
    for sign, ends in ((light, exposure.start), (-light, exposure.end)):
        column, into = _place(ends, columns)
        aside += _summed(exposure, columns, column, sign * into * (1 - into) / 2)
    share[:, 1:] += aside[:, :-1] / 2
    share[:, :-1] -= aside[:, 1:] / 2
    return share


def _place(ends: Floats, columns: ColumnGrid) -> tuple[Integers, Floats]:
    """The column that a point lies in and how far into it (0 to 1); outside counts as the edge."""
    place = np.clip((ends - columns.left) / columns.step, 0.0, columns.count)
    column = place.astype(np.int64)
    return column, place - column


def _first_from(ends: Floats, columns: ColumnGrid) -> Integers:
    """The first column whose middle lies at a point or beyond; `count` if none does."""
    place = np.ceil((ends - columns.left) / columns.step - 0.5)
    return np.clip(place, 0, columns.count).astype(np.int64)


def _borders(exposure: Exposure) -> tuple[Integers, Floats]:
    """Numbers of the runs that have another after them in their row, and the middles between."""
    inner = np.flatnonzero(exposure.row[1:] == exposure.row[:-1])
    return inner, (exposure.end[inner] + exposure.start[inner + 1]) / 2


def _summed(
    exposure: Exposure,
    columns: ColumnGrid,
    column: Integers,
    values: Floats,
    row: Integers | None = None,
) -> Floats:
    """Values of runs summed up by row and column; what lies beyond the last column is lost."""
    row = exposure.row if row is None else row
    inside = column < columns.count
    size = len(exposure.y) * columns.count
    place = (row * columns.count + column)[inside]
    summed = np.bincount(place, values[inside], minlength=size)
    return np.asarray(summed.reshape(len(exposure.y), columns.count))


def arrival_times(exposure: Exposure, columns: ColumnGrid) -> Floats:
    """Time of the beam at each column of each row, rows × columns, s.

    In the dark it is the time of the nearest lit point of the row, from which heat comes.
    """
    exposure = exposure.whole
    inner, middle = _borders(exposure)
    border, ones = _first_from(middle, columns), np.ones(len(inner))
    passed = np.cumsum(_summed(exposure, columns, border, ones, exposure.row[inner]), axis=1)
    return _arrivals(exposure, passed.astype(np.int64), columns.centres)


def arrival_times_at(exposure: Exposure, places: Floats) -> Floats:
    """The same at any places (u, mm) of each row, rows × places."""
    exposure = exposure.whole
    inner, middle = _borders(exposure)
    ends = np.concatenate([exposure.start, exposure.end, places])
    rows, span = np.arange(len(exposure.y)), float(ends.max() - ends.min()) + 1.0
    key = exposure.row[inner] * span + (middle - ends.min())
    wanted = rows[:, None] * span + (places - ends.min())
    passed = np.searchsorted(key, wanted, side="right") - np.searchsorted(key, rows * span)[:, None]
    return _arrivals(exposure, passed, places)


def _arrivals(exposure: Exposure, passed: Integers, places: Floats) -> Floats:
    """Times at places of each row, given how many of the row's runs lie before each."""
    first = np.searchsorted(exposure.row, np.arange(len(exposure.y)))
    run = first[:, None] + passed
    start, end = exposure.start[run], exposure.end[run]
    near = np.minimum(np.maximum(places, start), end)
    way = np.where(exposure.forward[:, None], near - start, end - near)
    return np.asarray(exposure.entered[run] + way / exposure.speed)


def blurred_runs(exposure: Exposure, columns: ColumnGrid, variances: Floats, out: Floats32) -> None:
    """Light at the middle of each column, with every run's ends blurred by exact Gaussians.

    `out` is rows × variances × columns. For variances that columns cannot resolve: the work grows
    with the number of runs and the width of the blur.
    """
    from scipy.special import ndtr

    rows = len(exposure.y)
    lit = _lit_middles(exposure, columns)
    ends = np.concatenate([exposure.start, exposure.end])
    sign = np.concatenate([exposure.relative, -exposure.relative])
    row = np.concatenate([exposure.row, exposure.row])
    column_of = np.floor((ends - columns.left) / columns.step)
    for index, deviation in enumerate(np.sqrt(variances)):
        beside = int(np.ceil(5 * deviation / columns.step)) + 1
        near = np.flatnonzero((column_of > -beside) & (column_of < columns.count + beside))
        column = column_of[near, None] + np.arange(-beside, beside)
        away = columns.left + columns.step * (column + 0.5) - ends[near, None]
        change = sign[near, None] * (ndtr(away / deviation) - (away >= 0))
        inside = (column >= 0) & (column < columns.count)
        place = (row[near, None] * columns.count + column)[inside].astype(np.int64)
        summed = np.bincount(place, change[inside], minlength=rows * columns.count)
        out[:, index] = lit + summed.reshape(rows, columns.count)


def blurred_runs_at(exposure: Exposure, places: Floats, variances: Floats, out: Floats32) -> None:
    """The same at any places (u, mm, ascending) of each row; `out` is rows × variances × places."""
    from scipy.special import ndtr

    shape = len(exposure.y), len(places)
    for index, deviation in enumerate(np.sqrt(variances)):
        reach = 5 * deviation
        first = np.searchsorted(places, exposure.start - reach)
        run, place = expand_ranges(first, np.searchsorted(places, exposure.end + reach))
        before, after = (
            (ends[run] - places[place]) / deviation for ends in (exposure.start, exposure.end)
        )
        light = exposure.relative[run] * (ndtr(after) - ndtr(before))
        at = exposure.row[run] * len(places) + place
        out[:, index] = np.bincount(at, light, minlength=shape[0] * shape[1]).reshape(shape)


def _lit_middles(exposure: Exposure, columns: ColumnGrid) -> Floats:
    light = exposure.relative
    change = _summed(exposure, columns, _first_from(exposure.start, columns), light)
    change -= _summed(exposure, columns, _first_from(exposure.end, columns), light)
    return np.cumsum(change, axis=1)


def blurred_image(
    image: Floats, step: float, variances: Floats, out: Floats32, inner: slice
) -> None:
    """An image blurred along its rows by Gaussians, of which the inner columns are kept.

    `out` is rows × variances × columns. An image holds the light of each column at its middle, so
    that the variance within a column, step²/12, is missing and is added to each blur. What is
    blurred beyond the image is lost, so the image must reach as far as the widest blur matters.
    """
    from scipy.fft import irfft, next_fast_len, rfft

    if not len(variances):
        return
    pad = int(np.ceil(5 * np.sqrt(variances.max()) / step)) + 1
    size = next_fast_len(image.shape[1] + pad, real=True)
    wave = 2 * np.pi * np.fft.rfftfreq(size, step)
    more = variances + step**2 / 12
    transfer = np.exp(-0.5 * more[:, None] * wave[None, :] ** 2).astype(np.float32)
    for first in range(0, len(image), 64):
        part = rfft(image[first : first + 64].astype(np.float32), size, axis=1)
        out[first : first + 64] = irfft(part[:, None, :] * transfer, size, axis=2)[:, :, inner]
