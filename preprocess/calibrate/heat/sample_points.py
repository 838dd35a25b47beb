"""Sample points of a cell: rows of its later part, and places along them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.geometry.base.row_frame import RowFrame
from preprocess.marking.heat.superposition import visit_times

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from shapely import MultiPolygon

    from preprocess.arrays import Integers
    from preprocess.marking.solver.exposures import Exposure


USUAL_ROWS = 0.4, 0.6, 0.8
"""Sampled rows, as shares of the rows of a cell: past its cool beginning."""

_PLACES = 0.1, 0.3, 0.5, 0.7, 0.9
"""Sampled places along a two-way row; a one-way row is alike all along."""

_LATER = 0, 1, 2, 3, 5, 7, 10, 14, 20
"""Visits of later rows after which the peak may lie."""

_MOMENT = 1e-9
"""s after the beam's visit."""


@dataclass(frozen=True, slots=True)
class SamplePoint:
    """A place in the row frame of `angle` (mm), and the times at which it may be hottest (s).

    `strike` is the number of its own strike; the first time is just after the beam's own visit.
    """

    u: float
    v: float
    angle: float
    strike: int
    times: tuple[float, ...]


def sample_points(
    struck: Sequence[Exposure],
    mine: Sequence[int],
    outline: MultiPolygon,
    shares: Sequence[float] = USUAL_ROWS,
) -> Iterator[SamplePoint]:
    """Points of a cell on the strikes that are numbered `mine`; none where no row crosses it.

    `shares` say which rows, as shares of those of the cell: as many points for each, in order.
    """
    for number in mine:
        strike = struck[number].whole
        here = _inside(strike, outline)
        rows = np.unique(strike.row[here])
        if not len(rows):
            continue
        two_way = bool(len(np.unique(strike.forward[rows])) > 1)
        for share in shares:
            first = int(share * (len(rows) - 1))
            later = [rows[first + n] for n in _LATER if first + n < len(rows)]
            for place in _PLACES if two_way else (0.5,):
                yield _point(strike, number, (here, later), place)


def _inside(strike: Exposure, outline: MultiPolygon) -> Integers:
    """Numbers of runs whose middle lies in a cell."""
    area = RowFrame(strike.angle).to_rows(outline)
    shapely.prepare(area)
    middle = (strike.start + strike.end) / 2
    return np.flatnonzero(shapely.contains_xy(area, middle, strike.y[strike.row]))


def _point(
    strike: Exposure,
    number: int,
    cell: tuple[Integers, Sequence[np.int64]],
    place: float,
) -> SamplePoint:
    """A place on the first run of the first of these rows, with the times of the beam's visits."""
    here, rows = cell
    run = here[strike.row[here] == rows[0]][0]
    u = float(strike.start[run] + place * (strike.end[run] - strike.start[run]))
    visits = visit_times(strike, u)
    away = np.abs(np.clip(u, strike.start, strike.end) - u)
    nearest = [min(here[strike.row[here] == row], key=lambda one: away[one]) for row in rows]
    times = tuple(float(visits[n]) + _MOMENT for n in nearest)
    return SamplePoint(u, float(strike.y[rows[0]]), strike.angle, number, times)
