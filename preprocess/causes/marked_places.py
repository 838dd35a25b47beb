"""Places of a measured map as columns, and their means over blocks, so that a fit stays small."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from scipy.ndimage import gaussian_filter

if TYPE_CHECKING:
    from preprocess.arrays import Booleans, Floats
    from preprocess.photo.measured import MeasuredJob

_BLOCKS = 500
"""Most blocks of a fit: their covariance is solved a few times."""

_COARSER = 1.15
"""Step by which blocks grow until they are few enough."""


@dataclass(frozen=True, slots=True)
class MarkedPlaces:
    """Places of a map, one entry each: mm, ΔL*, and logarithms of the predicted heat index.

    `wider` is the index at twice the filament's spread. `count` is how many values of the map
    stand behind each entry.
    """

    x: Floats
    y: Floats
    tone: Floats
    index: Floats
    wider: Floats
    count: Floats

    def __len__(self) -> int:
        return len(self.x)

    def less(self, tone: Floats) -> MarkedPlaces:
        """The same places with some of their tone taken off."""
        return replace(self, tone=self.tone - tone)


def marked(job: MeasuredJob) -> Booleans:
    """Where a map has a tone and a prediction, rows × columns."""
    predicted = np.isfinite(job.index) & np.isfinite(job.wider)
    return np.asarray(np.isfinite(job.tone) & predicted & (job.index > 0) & (job.wider > 0))


def places_of(job: MeasuredJob) -> MarkedPlaces:
    """All measured places of a job that have a prediction."""
    where = marked(job)
    rows, columns = np.nonzero(where)
    left, top = job.origin
    return MarkedPlaces(
        x=np.asarray(left + job.step * columns, dtype=np.float64),
        y=np.asarray(top + job.step * rows, dtype=np.float64),
        tone=np.asarray(job.tone[where], dtype=np.float64),
        index=np.log(np.asarray(job.index[where], dtype=np.float64)),
        wider=np.log(np.asarray(job.wider[where], dtype=np.float64)),
        count=np.ones(len(rows)),
    )


def block_means(places: MarkedPlaces, step: float) -> MarkedPlaces:
    """Means over square blocks, of the least size that leaves a few hundred of them."""
    size = 2 * step
    while True:
        u = np.floor((places.x - places.x.min()) / size).astype(np.int64)
        v = np.floor((places.y - places.y.min()) / size).astype(np.int64)
        _, block = np.unique(v * (u.max() + 1) + u, return_inverse=True)
        count = np.bincount(block).astype(float)
        if len(count) <= _BLOCKS:
            break
        size *= _COARSER
    x, y, tone, index, wider = (
        np.bincount(block, held) / count
        for held in (places.x, places.y, places.tone, places.index, places.wider)
    )
    return MarkedPlaces(x, y, tone, index, wider, count)


def smooth_within(value: Floats, where: Booleans, sigma: float) -> Floats:
    """Gaussian means of a map over what is marked of it; sigma in steps of the map."""
    share = gaussian_filter(where.astype(float), sigma)
    held = gaussian_filter(np.where(where, value, 0.0), sigma)
    return np.asarray(held / np.maximum(share, 1e-6))
