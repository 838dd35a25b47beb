"""Rows as images: how much of each column they light, when the beam was there, how it blurs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.fft import irfft, next_fast_len, rfft
from scipy.special import ndtr

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from preprocess.marking.strikes import Strike

    Floats = NDArray[np.float64]

APART = 1e5
"""mm between two rows laid end to end, so that one search serves all of them."""


@dataclass(frozen=True, slots=True)
class Columns:
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

    def wider(self, by: int) -> Columns:
        """The same with `by` columns more on both sides."""
        return Columns(self.left - by * self.step, self.step, self.count + 2 * by)


def columns_over(start: float, end: float, step: float) -> Columns:
    """Columns that cover [start, end], on one grid for all of a page: edges at multiples."""
    first, last = np.floor(start / step + 1e-9), np.ceil(end / step - 1e-9)
    return Columns(float(first * step), step, max(1, int(last - first)))


def coverage(strike: Strike, columns: Columns) -> Floats:
    """Share of each column that each row lights, rows × columns; exact for any number of runs."""
    long = strike.end - strike.start
    run, into = _into(strike, columns)
    before = np.concatenate([[0.0], np.cumsum(long)])
    lit = np.where(run >= 0, before[run] + into, 0.0)
    return np.diff(lit, axis=1) / columns.step


def balanced(strike: Strike, columns: Columns) -> Floats:
    """Coverage with the light of partly lit columns put where it is: its centre is kept.

    What lies beside a column's middle by m (in columns, weighted by coverage) is added to the
    neighbours as +m/2 and −m/2; blurred, that is light in the right place.
    """
    left, step = columns.left, columns.step
    start, end = strike.start - left, strike.end - left
    run, into = _into(strike, columns)
    before = np.concatenate([[0.0], np.cumsum((end**2 - start**2) / 2)])
    reached = start[run] + into
    turning = np.where(run >= 0, before[run] + (reached**2 - start[run] ** 2) / 2, 0.0)
    share = coverage(strike, columns)
    aside = np.diff(turning, axis=1) / step**2 - share * (columns.centres - left) / step
    share[:, 1:] += aside[:, :-1] / 2
    share[:, :-1] -= aside[:, 1:] / 2
    return share


def _into(strike: Strike, columns: Columns) -> tuple[NDArray[np.int64], Floats]:
    """At each column's edge in each row the last run begun (−1: none) and how far into it (mm)."""
    place = strike.row * APART + strike.start
    query = np.arange(len(strike.y))[:, None] * APART + columns.edges[None, :]
    run = np.searchsorted(place, query, side="right") - 1
    last = np.maximum(run, 0)
    return run, np.clip(query - place[last], 0.0, (strike.end - strike.start)[last])


def arrivals(strike: Strike, columns: Columns) -> Floats:
    """When the beam was at each column of each row, rows × columns, s.

    In the dark it is the time of the nearest lit point of the row, from which warmth comes.
    """
    place = strike.row * APART
    border = np.empty(len(strike.row))
    border[:-1] = place[:-1] + (strike.end[:-1] + strike.start[1:]) / 2
    ends_row = np.append(strike.row[1:] != strike.row[:-1], True)
    border[ends_row] = place[ends_row] + APART / 2
    centres = np.broadcast_to(columns.centres, (len(strike.y), columns.count))
    query = np.arange(len(strike.y))[:, None] * APART + centres
    run = np.searchsorted(border, query, side="left")
    near = np.clip(centres, strike.start[run], strike.end[run])
    way = np.where(strike.forward[:, None], near - strike.start[run], strike.end[run] - near)
    return strike.entered[run] + way / strike.speed


def softened(strike: Strike, columns: Columns, variances: Floats) -> NDArray[np.float32]:
    """Light at the middle of each column, with every run's ends blurred by exact Gaussians.

    rows × variances × columns. For variances that columns cannot resolve: the work grows with
    the number of runs and the width of the blur.
    """
    rows = len(strike.y)
    lit = _lit_middles(strike, columns)
    out = np.empty((rows, len(variances), columns.count), np.float32)
    ends = np.concatenate([strike.start, strike.end])
    sign = np.repeat([1.0, -1.0], len(strike.row))
    row = np.concatenate([strike.row, strike.row])
    for index, deviation in enumerate(np.sqrt(variances)):
        beside = int(np.ceil(5 * deviation / columns.step)) + 1
        column = np.floor((ends - columns.left) / columns.step)[:, None] + np.arange(
            -beside, beside
        )
        away = columns.left + columns.step * (column + 0.5) - ends[:, None]
        change = sign[:, None] * (ndtr(away / deviation) - (away >= 0))
        inside = (column >= 0) & (column < columns.count)
        place = (row[:, None] * columns.count + column)[inside].astype(np.int64)
        summed = np.bincount(place, change[inside], minlength=rows * columns.count)
        out[:, index] = lit + summed.reshape(rows, columns.count)
    return out


def _lit_middles(strike: Strike, columns: Columns) -> Floats:
    place = strike.row * APART + strike.start
    query = np.arange(len(strike.y))[:, None] * APART + columns.centres[None, :]
    run = np.searchsorted(place, query, side="right") - 1
    last = np.maximum(run, 0)
    return ((run >= 0) & (query < strike.row[last] * APART + strike.end[last])).astype(float)


def blurred(image: Floats, step: float, variances: Floats) -> NDArray[np.float32]:
    """An image blurred along its rows by Gaussians: rows × variances × columns.

    An image holds the light of each column at its middle, so that the variance within a column,
    step²/12, is missing and is added to each blur. What is blurred beyond the image is lost, so
    the image must reach as far as the widest blur matters.
    """
    count = image.shape[1]
    if not len(variances):
        return np.empty((len(image), 0, count), np.float32)
    pad = int(np.ceil(5 * np.sqrt(variances.max()) / step)) + 1
    size = next_fast_len(count + pad, real=True)
    wave = 2 * np.pi * np.fft.rfftfreq(size, step)
    more = variances + step**2 / 12
    transfer = np.exp(-0.5 * more[:, None] * wave[None, :] ** 2).astype(np.float32)
    out = np.empty((image.shape[0], len(variances), count), np.float32)
    for first in range(0, len(image), 64):
        part = rfft(image[first : first + 64].astype(np.float32), size, axis=1)
        out[first : first + 64] = irfft(part[:, None, :] * transfer, size, axis=2)[:, :, :count]
    return out
