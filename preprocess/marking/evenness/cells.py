"""Marked cells: every lit place of a job once, with its neighbours, whatever step marked it."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.arrays import Booleans, Floats, Integers
    from preprocess.marking.heat.index_images import IndexImage

SLIVER = 0.05
"""mm of lit length below which a run by itself is no place that anybody sees."""

_MEET = 0.45
"""Rows of two shapes nearer than this share of their pitch mark the same place."""

_EQUALLY = 0.1
"""Rounds lie equally far apart to within this share."""

_EDGE = 1e-6
"""mm by which rows are off at least, for the decimals of a file."""

_ON_EDGE = 1e-6
"""Share of a column by which its middle may lie before its edge."""

_NEXT = 1.6
"""Rows up to this many pitches apart lie beside one another."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkedCells:
    """Cells of rows, in any order; the last axis is cells throughout.

    `index` is spreads × cells, likely spread first. `area` is what is lit of each (mm²), `weight`
    the area that it stands for where only some groups were solved. `x`, `y` are mm on the page.
    `group` numbers parts and scan angles; in its frame a cell lies at `u`, `v` (mm), and its rows
    are `pitch` apart. `beside` is 4 × cells: the cell before and after it in its row, and in the
    row above and below; -1 where there is none. `sliver` marks runs too short to be seen, and
    `image` is the number of the image that a cell is of.
    """

    index: Floats
    area: Floats
    weight: Floats
    x: Floats
    y: Floats
    group: Integers
    u: Floats
    v: Floats
    pitch: Floats
    beside: Integers
    sliver: Booleans
    image: Integers

    def __len__(self) -> int:
        return len(self.area)


_BY_CELL = tuple(each.name for each in fields(MarkedCells) if each.name != "beside")


def marked_cells(images: Sequence[IndexImage]) -> MarkedCells | None:
    """Gather the lit cells of images; where rows of several shapes meet, the largest counts.

    None where nothing is lit.
    """
    by_group: dict[tuple[int | None, float], dict[int, IndexImage]] = {}
    for number, image in enumerate(images):
        if image.lit.any():
            by_group.setdefault((image.part, image.angle), {})[number] = image
    found = [_of_group(number, group) for number, group in enumerate(by_group.values())]
    return _joined(found) if found else None


def _of_group(number: int, numbered: dict[int, IndexImage]) -> MarkedCells:
    """Cells of one part and scan angle, sorted by column and row."""
    images = list(numbered.values())
    step = column_width(images)
    held = [_of_image(n, image, step) for n, image in enumerate(images)]
    column, v, share, source, stands, x, y, u = (np.concatenate(e) for e in zip(*held, strict=True))
    index = np.concatenate([image.indices[:, image.lit] for image in images], axis=1)
    order = np.lexsort((v, column))
    column, v, source = column[order], v[order], source[order]
    height = _own_heights(column, v, source, [image.cell / step for image in images])
    begins = np.flatnonzero(_first_of_place(column, v, height, source))
    lit = np.maximum.reduceat(share[order], begins)
    column, v, height = column[begins], v[begins], height[begins]
    first = order[begins]
    beside = _neighbours(column, v, height)
    return MarkedCells(
        index=np.maximum.reduceat(index[:, order], begins, axis=1),
        area=np.asarray(lit * height * step),
        weight=np.asarray(lit * height * step * stands[first]),
        x=x[first],
        y=y[first],
        group=np.full(len(begins), number),
        u=u[first],
        v=v,
        pitch=height,
        beside=beside,
        sliver=(beside[:2] < 0).all(axis=0) & (lit * step < SLIVER),
        image=np.array(list(numbered))[source[begins].astype(np.int64)],
    )


def column_width(images: Sequence[IndexImage]) -> float:
    """Width of the columns that some images share, mm; 0.1 where none has two."""
    steps = [float(image.u[1] - image.u[0]) for image in images if len(image.u) > 1]
    return min(steps, default=0.1)


def _of_image(number: int, image: IndexImage, step: float) -> tuple[Floats, ...]:
    row, place = np.nonzero(image.lit)
    x, y = image.points
    u, ones = image.u[place], np.ones(len(row))
    aside = 0.0 if image.aside is None else image.aside[row, place]
    return (
        np.floor(u / step + _ON_EDGE),
        image.v[row],
        image.share[row, place].astype(np.float64),
        number * ones,
        image.stands_for * ones,
        x[row, place],
        y[row, place],
        u + aside,
    )


def _first_of_place(column: Floats, v: Floats, height: Floats, source: Floats) -> Booleans:
    """Mask of the cells, sorted by column and v, that begin a place of their own."""
    near = _MEET * np.minimum(height[1:], height[:-1])
    same = (np.diff(column) == 0) & (np.diff(v) < near) & (np.diff(source) != 0)
    return np.concatenate([[True], ~same])


def _own_heights(column: Floats, v: Floats, source: Floats, pitches: Sequence[float]) -> Floats:
    """Distance from row to row at each cell, mm: of all rounds together.

    A colour for each round leaves every k-th row to a step, and must not count k times. Its rows
    are found by what lies between them: k rows, equally far apart. Rows of two shapes that meet
    are not.
    """
    gap = np.where(np.diff(column) == 0, np.diff(v), np.inf)
    nearest = np.minimum(np.append(gap, np.inf), np.append(np.inf, gap))
    key = _key(column, v)
    height = np.empty(len(v))
    for number, pitch in enumerate(pitches):
        mine = source == number
        height[mine] = pitch
        if mine.any():
            ends = (np.searchsorted(key, key[mine] + by * pitch / 2 - _EDGE) for by in (-1, 1))
            below, above = ends
            count, apart = np.median(above - below), float(np.median(nearest[mine]))
            if count > 1 and abs(count * apart / pitch - 1) < _EQUALLY:
                height[mine] = pitch / count
    return height


def _neighbours(column: Floats, v: Floats, height: Floats) -> Integers:
    """Cells beside each one, for cells sorted by column and v."""
    count = len(v)
    beside = np.full((4, count), -1)
    key = _key(column, v)
    length = _length(v)
    for side, by in ((0, -length), (1, length)):
        at = np.searchsorted(key, key + by)
        for other in (at - 1, at):
            inside = (other >= 0) & (other < count)
            near = np.zeros(count, bool)
            away = np.abs(key[other[inside]] - key[inside] - by)
            near[inside] = away < _MEET * height[inside]
            beside[side, near] = other[near]
    close = (np.diff(column) == 0) & (np.diff(v) <= _NEXT * np.maximum(height[1:], height[:-1]))
    beside[2, 1:][close] = np.flatnonzero(close)
    beside[3, :-1][close] = np.flatnonzero(close) + 1
    return beside


def _length(v: Floats) -> float:
    return float(v.max() - v.min()) + 10.0


def _key(column: Floats, v: Floats) -> Floats:
    """One number that sorts by column, then by v."""
    return np.asarray((column - column.min()) * _length(v) + (v - v.min()))


def _joined(groups: Sequence[MarkedCells]) -> MarkedCells:
    start = np.cumsum([0, *(len(group) for group in groups)])
    moved = [
        np.where(group.beside < 0, -1, group.beside + first)
        for group, first in zip(groups, start, strict=False)
    ]
    joined = replace(groups[0], beside=np.concatenate(moved, axis=1))
    for name in _BY_CELL:
        whole = np.concatenate([getattr(group, name) for group in groups], axis=-1)
        joined = replace(joined, **{name: whole})
    return joined


def only_cells(cells: MarkedCells, keep: Booleans) -> MarkedCells:
    """Some of the cells; neighbours that are left out are no neighbours any more."""
    number = np.where(keep, np.cumsum(keep) - 1, -1)
    beside = cells.beside[:, keep]
    kept = {name: getattr(cells, name)[..., keep] for name in _BY_CELL}
    return replace(cells, **kept, beside=np.where(beside < 0, -1, number[beside]))
