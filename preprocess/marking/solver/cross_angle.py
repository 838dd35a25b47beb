"""Rows of another scan angle, seen as rows of this one: an image of their energy and its time."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.geometry.base.row_frame import change_angle
from preprocess.marking.solver.row_images import ColumnGrid, blurred_image
from preprocess.marking.solver.row_sources import RowLumps, RowSources, kept_variances

if TYPE_CHECKING:
    from preprocess.arrays import Floats
    from preprocess.marking.solver.exposures import Exposure


_TRACE = 1e-9
"""mm of lit length in a cell below which nothing is known of its time."""


def exposure_points(exposure: Exposure, apart: float) -> tuple[Floats, Floats, Floats, Floats]:
    """Runs cut into short pieces: u and v of their middles, mm in full light, time of the visit."""
    long = exposure.end - exposure.start
    pieces = np.maximum(1, np.ceil(long / apart).astype(np.int64))
    run = np.repeat(np.arange(len(long)), pieces)
    number = np.arange(len(run)) - np.repeat(np.cumsum(pieces) - pieces, pieces)
    piece = (long / pieces)[run]
    u = exposure.start[run] + (number + 0.5) * piece
    forward = exposure.forward[exposure.row[run]]
    way = np.where(forward, u - exposure.start[run], exposure.end[run] - u)
    lit, when = piece * exposure.relative[run], exposure.entered[run] + way / exposure.speed
    return u, exposure.y[exposure.row[run]], lit, when


def cross_angle_sources(
    exposure: Exposure,
    angle: float,
    columns: ColumnGrid,
    variances: tuple[float, float],
    height: float,
) -> tuple[RowLumps, RowSources]:
    """An exposure of another angle as rows `height` mm apart in the frame of `angle`.

    `variances` are the least and the largest along the rows that will be needed (mm²).
    """
    kept = kept_variances(max(variances[0], columns.step**2), variances[1])
    beyond = int(np.ceil(4.5 * np.sqrt(kept[-1]) / columns.step)) + 1
    wide = columns.wider(beyond)
    u, v, length, time = exposure_points(exposure, columns.step / 2)
    u, v = change_angle(u, v, exposure.angle, angle)
    row = np.floor(v / height).astype(np.int64)
    lowest = row.min()
    column = np.floor((u - wide.left) / wide.step).astype(np.int64)
    inside = (column >= 0) & (column < wide.count)
    rows = int(row.max() - lowest) + 1
    place = ((row - lowest) * wide.count + column)[inside]
    lit, timed = (
        np.bincount(place, weight[inside], minlength=rows * wide.count)
        .reshape(rows, wide.count)
        .astype(np.float64)
        for weight in (length, length * time)
    )
    when = _mean_times(lit, timed)
    light = np.empty((rows, len(kept), columns.count), np.float32)
    inner = slice(beyond, beyond + columns.count)
    blurred_image(lit / columns.step, columns.step, kept, light, inner)
    number = np.arange(rows)
    lumps = RowLumps(
        y=(number + lowest + 0.5) * height,
        extra=np.full(rows, height**2 / 12),
        uniform=np.ones(rows, bool),
        offset=(0,),
    )
    return lumps, RowSources(when[:, inner], light, kept)


def _mean_times(lit: Floats, timed: Floats) -> Floats:
    """Times averaged over neighbouring cells, since rows may miss a cell of their own pitch."""
    weight, moment = _softened(lit), _softened(timed)
    mean = moment.sum(1) / np.maximum(weight.sum(1), 1e-12)
    return np.where(weight > _TRACE, moment / np.maximum(weight, _TRACE), mean[:, None])


def _softened(image: Floats) -> Floats:
    from scipy.ndimage import convolve1d

    for axis in (0, 1):
        image = convolve1d(image, np.array([1.0, 2.0, 3.0, 2.0, 1.0]) / 9, axis, mode="constant")
    return image
