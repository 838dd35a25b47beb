"""An exposure cut into n × n tiles, each of them a lumped source."""

from __future__ import annotations

from dataclasses import fields
from typing import TYPE_CHECKING

import numpy as np

from preprocess.geometry.base.row_frame import change_angle
from preprocess.marking.solver.cross_angle import exposure_points
from preprocess.marking.solver.lumped_sources import LumpedSources

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.arrays import Floats
    from preprocess.marking.solver.exposures import Exposure


_FINER = 4
"""Pieces that runs are cut into along each tile."""


def exposure_tiles(exposure: Exposure, count: int, angle: float) -> LumpedSources:
    """Energy, place, spread and mean time of each lit tile, in the frame of an angle."""
    left, top = exposure.start.min(), exposure.y[0] - exposure.pitch / 2
    width = (exposure.end.max() - left) / count
    height = (exposure.y[-1] + exposure.pitch / 2 - top) / count
    u, v, length, time = exposure_points(exposure, width / _FINER)
    column = np.minimum(((u - left) / width).astype(np.int64), count - 1)
    row = np.minimum(((v - top) / height).astype(np.int64), count - 1)
    place = row * count + column
    u, v = change_angle(u, v, exposure.angle, angle)
    lit = np.bincount(place, length, minlength=count * count)
    some = lit > 0

    def mean(values: Floats) -> Floats:
        summed = np.bincount(place, values * length, minlength=count * count)
        return np.asarray(summed[some] / lit[some])

    centre = np.column_stack([mean(u), mean(v)])
    within = np.array([(width / _FINER) ** 2, exposure.pitch**2]) / 12
    within = within if angle == exposure.angle else np.full(2, within.mean())
    variance = np.column_stack([mean(u**2), mean(v**2)]) - centre**2 + within
    when = mean(time)
    box = np.column_stack([centre, centre])
    return LumpedSources(box, centre, variance, np.asarray(exposure.energy * lit[some]), when, when)


def concatenated(sources: Sequence[LumpedSources]) -> LumpedSources:
    """Lumped sources one after another."""
    names = [each.name for each in fields(LumpedSources)]
    return LumpedSources(*(np.concatenate([getattr(s, name) for s in sources]) for name in names))
