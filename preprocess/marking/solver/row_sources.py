"""Rows as heat sources, singly and lumped by 2, 4, 8, …: the older, the coarser.

A lump of L rows acts as one row in their middle with the variance of L equal steps added; that
keeps energy, place and width of the heat exactly. `RowHistory` picks, for each row, singles of late
and ever larger lumps of what lies longer back, as far as heat has had time to spread from there.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from preprocess.marking.solver.row_images import (
    ColumnGrid,
    arrival_times,
    arrival_times_at,
    between_columns,
    blurred_image,
    blurred_runs,
    blurred_runs_at,
    centred_coverage,
)

if TYPE_CHECKING:
    from preprocess.arrays import Booleans, Floats, Floats32, Integers
    from preprocess.marking.solver.exposures import Exposure


REACH = 18.0
"""Squared distance over variance beyond which heat is left out: exp(−9)."""

_OLDER = 8
"""A lump of L rows lies at least this many times L rows back."""

_WIDE = 1.2
"""A lump may be this many standard deviations of its heat wide."""

_GROWTH = 1.7
"""Ratio between neighbouring variances along the rows that blurs are kept for."""


@dataclass(frozen=True, slots=True)
class RowLumps:
    """All rows of an exposure and their lumps, numbered from singles on; independent of columns.

    `y` is mm, `extra` the variance of its rows (mm²); `uniform` says that they are neighbours.
    `offset[m]` is the number of the first lump of 2^m rows.
    """

    y: Floats
    extra: Floats
    uniform: Booleans
    offset: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class RowSources:
    """Lumps on a set of columns: time of the beam's visit (s), and light by column and blur.

    `light` is lumps × variances × columns, in rows' worth of line energy. After the columns come
    single places where these were asked for.
    """

    time: Floats
    light: Floats32
    variances: Floats


def row_lumps(exposure: Exposure) -> RowLumps:
    """Number the rows and lumps of an exposure."""
    rows, pitch = len(exposure.y), exposure.pitch
    offset, numbers, sizes = [0], [np.arange(rows)], [np.ones(rows, np.int64)]
    while rows >> len(offset):
        size = 1 << len(offset)
        offset.append(offset[-1] + len(numbers[-1]))
        numbers.append(np.arange(rows // size) * size)
        sizes.append(np.full(rows // size, size, np.int64))
    begin, size_of = np.concatenate(numbers), np.concatenate(sizes)
    first, last = exposure.y[begin], exposure.y[begin + size_of - 1]
    return RowLumps(
        y=(first + last) / 2,
        extra=pitch**2 * (size_of**2 - 1) / 12,
        uniform=np.abs(last - first - (size_of - 1) * pitch) < pitch / 4,
        offset=tuple(offset),
    )


def kept_variances(least: float, largest: float) -> Floats:
    """Variances along the rows at which blurs are kept, mm²."""
    count = 2 + max(0, int(np.ceil(np.log(max(largest / least, 1.0)) / np.log(_GROWTH))))
    return np.asarray(least * _GROWTH ** np.arange(count))


_RESOLVED = 0.1
"""Width of columns, mm, in which light is resolved at many single places within wider ones."""

_MOST_PARTS = 9
"""A column is cut into no more for that: each of its runs would take less time by itself."""

NOWHERE: Floats = np.empty(0)
"""No single places."""

STENCIL = 2
"""Columns on either side that the heat at a single place is taken from."""


def row_sources(
    exposure: Exposure, columns: ColumnGrid, least: float, largest: float, places: Floats = NOWHERE
) -> RowSources:
    """Images of an exposure's rows and lumps on some columns.

    Args:
        exposure: the rows.
        columns: where the rise is wanted; rows may reach beyond.
        least: variance along the rows that will be needed at least, that of the beam, mm².
        largest: the same at most, mm².
        places: single places (u, mm) within the columns where it is wanted as well.
    """
    variances = kept_variances(least, largest)
    finer = _finer(columns.step) if len(places) > columns.count else 1
    exact, narrow = (int((variances < 3 * (columns.step / by) ** 2).sum()) for by in (finer, 1))
    beyond = _beyond(columns, variances)
    lit = centred_coverage(exposure, columns.wider(beyond))
    rows, count = len(lit), columns.count
    begin = np.cumsum([0, *_counts(rows)]).tolist()
    light = np.empty((begin[-1], len(variances), count + len(places)), np.float32)
    time = np.empty((begin[-1], count + len(places)))
    blurred_runs(exposure, columns, variances[:exact], light[:rows, :exact, :count])
    _blurred(lit, columns, variances[narrow:], light[:rows, narrow:], (1, places))
    time[:rows, :count] = arrival_times(exposure, columns)
    if len(places):
        blurred_runs_at(exposure, places, variances[:exact], light[:rows, :exact, count:])
        time[:rows, count:] = arrival_times_at(exposure, places)
    if narrow > exact:
        between, fine = variances[exact:narrow], columns.finer(finer)
        more = centred_coverage(exposure, fine.wider(_beyond(fine, between)))
        _blurred(more, fine, between, light[:rows, exact:narrow], (finer, places))
    inner = slice(beyond, beyond + count)
    weight = np.maximum(lit[:, inner], 0.0) + 1e-3
    weight = np.concatenate([weight, weight[:, columns.holding(places)]], axis=1)
    _lump(light, time, weight, begin)
    return RowSources(time, light, variances)


def _finer(step: float) -> int:
    """An odd number of parts of a wide column in which narrow blurs are resolved."""
    return min(max(1, int((step / _RESOLVED - 1) / 2) * 2 + 1), _MOST_PARTS)


def _beyond(columns: ColumnGrid, variances: Floats) -> int:
    """So many columns on either side hold all light that matters at some variances."""
    return int(np.ceil(4.5 * np.sqrt(variances[-1]) / columns.step)) + 1


def _blurred(
    lit: Floats, columns: ColumnGrid, variances: Floats, out: Floats32, at: tuple[int, Floats]
) -> None:
    """Light at the middles of columns, or of every few of them, and at places.

    Args:
        lit: coverage of as many more columns as `_beyond` says.
        columns: the columns.
        variances: along the rows, which the columns can resolve, mm².
        out: rows × variances × middles and places, to be filled in.
        at: of how many columns one middle is wanted, an odd number; the places (u, mm).
    """
    if not len(variances):
        return
    (every, places), beyond = at, (lit.shape[1] - columns.count) // 2
    if not len(places):
        blurred_image(lit, columns.step, variances, out, slice(beyond, beyond + columns.count))
        return
    wide, middles = columns.wider(STENCIL), columns.count // every
    image = np.empty((len(lit), len(variances), wide.count), np.float32)
    more = slice(beyond - STENCIL, beyond + columns.count + STENCIL)
    blurred_image(lit, columns.step, variances, image, more)
    out[..., :middles] = image[..., STENCIL + every // 2 : STENCIL + columns.count : every]
    out[..., middles:] = between_columns(image, wide, places)


def _lump(light: Floats32, time: Floats, weight: Floats, begin: list[int]) -> None:
    """Fill in the lumps of 2, 4, 8, … rows from those of half as many."""
    for low, high, end in zip(begin, begin[1:], begin[2:], strict=False):
        last = low + 2 * (end - high)
        np.add(light[low:last:2], light[low + 1 : last : 2], out=light[high:end])
        heavy = weight[: last - low].reshape(end - high, 2, -1)
        weight = heavy.sum(1)
        both = time[low:last].reshape(end - high, 2, -1)
        time[high:end] = (both * heavy).sum(1) / weight


def _counts(rows: int) -> list[int]:
    """Numbers of lumps of 1, 2, 4, … rows."""
    return [rows >> level for level in range(rows.bit_length())]


class RowHistory:
    """Picks the lumps that matter at a time: single recent rows, and coarser ones before.

    Plain lists and floats: it is asked once per row, and numpy is slow with single numbers.
    """

    def __init__(self, exposure: Exposure, lumps: RowLumps, at_once: float, gain: float) -> None:
        self._y: list[float] = exposure.y.tolist()
        self._at: list[float] = exposure.at.tolist()
        self._uniform: list[bool] = lumps.uniform.tolist()
        self._offset, self._pitch = lumps.offset, exposure.pitch
        self._at_once, self._gain = at_once, gain

    def upto(self, stop: int, now: float, near: tuple[float, float]) -> Integers:
        """Numbers of the lumps of all rows before row `stop`, newest first.

        Args:
            stop: rows before this one have been marked.
            now: time, s.
            near: range of y over which the rise is wanted, mm.
        """
        chosen: list[int] = []
        y, at, at_once, gain = self._y, self._at, self._at_once, self._gain
        top, bottom = near
        end, level = stop, 0
        widest_ever = REACH * (at_once + gain * (now - at[0]))
        while stop > 0:
            variance = at_once + gain * (now - at[stop - 1])
            if level or end - stop >= 2 * _OLDER:
                widest = _WIDE * math.sqrt(variance) / self._pitch
                level = self._level(level, stop, end - stop, widest)
            first, last = stop - (1 << level), stop - 1
            gap = max(0.0, top - y[last], y[first] - bottom)
            older = variance + gain * (at[last] - at[first])
            if gap * gap <= REACH * older:
                chosen.append(self._offset[level] + (stop >> level) - 1)
            elif gap * gap > widest_ever and y[last] < top:
                break
            stop = first
        return np.array(chosen, np.int64)

    def _level(self, level: int, stop: int, lag: int, widest: float) -> int:
        """The largest lump that may end before row `stop`, given how far back that is."""
        while (
            (_OLDER << (level + 1)) <= lag
            and (1 << (level + 1)) <= widest
            and self._fits(level + 1, stop)
        ):
            level += 1
        while level > 0 and not self._fits(level, stop):
            level -= 1
        return level

    def _fits(self, level: int, stop: int) -> bool:
        if level >= len(self._offset) or stop & ((1 << level) - 1):
            return False
        return self._uniform[self._offset[level] + (stop >> level) - 1]
