"""The heat index at every cell of a grid, from the images of a prediction."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.marking.heat.index_images import weighted_quantile

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from preprocess.arrays import Floats
    from preprocess.marking.heat.index import HeatIndex
    from preprocess.marking.heat.index_images import IndexImage
    from preprocess.passes.grey.cell_grid import CellGrid

_LIKELY = 0.5
"""Weight of the likely spread; the others share the rest."""


def offsets(heat: HeatIndex, outputs: Collection[str], grid: CellGrid) -> Floats:
    """By how much each cell is hotter than the median: mean of ln(index / median) over spreads.

    Rows × columns; 0 where nothing is known.
    """
    images = [image for image in heat.images if image.output in outputs and image.lit.any()]
    logs = _logarithms(images)
    found = np.zeros((grid.rows, grid.columns))
    for image, log in zip(images, logs, strict=True):
        rows = np.rint((image.v - grid.first) / grid.pitch).astype(np.int64)
        for row, lit, values in zip(rows.tolist(), image.lit, log, strict=True):
            if not lit.any() or not 0 <= row < grid.rows:
                continue
            known = image.u[lit]
            step = image.cell and (image.u[1] - image.u[0] if len(image.u) > 1 else grid.cell)
            inside = np.abs(grid.middles - (known[0] + known[-1]) / 2) <= (
                (known[-1] - known[0]) / 2 + step
            )
            found[row, inside] = np.interp(grid.middles[inside], known, values[lit])
    return found


def _logarithms(images: Sequence[IndexImage]) -> list[Floats]:
    """Weighted mean of ln(index / median) over the spreads, for every cell of each image."""
    if not images:
        return []
    weight = np.concatenate([image.areas[image.lit] for image in images])
    spreads = len(images[0].indices)
    others = spreads - 1
    shares = [_LIKELY, *[(1 - _LIKELY) / others] * others] if others else [1.0]
    summed = [np.zeros(image.lit.shape) for image in images]
    for number, share in enumerate(shares):
        every = np.concatenate([image.indices[number][image.lit] for image in images])
        median = weighted_quantile(every, weight, 0.5)
        for place, image in enumerate(images):
            index = np.where(image.lit, image.indices[number], median)
            summed[place] += share * np.log(np.maximum(index, 1e-3 * median) / median)
    return summed


def median_index(heat: HeatIndex, outputs: Collection[str]) -> float:
    """Median index of some output layers at the likely spread; 1 where nothing is lit."""
    images = [image for image in heat.images if image.output in outputs and image.lit.any()]
    if not images:
        return 1.0
    index = np.concatenate([image.index[image.lit] for image in images])
    weight = np.concatenate([image.areas[image.lit] for image in images])
    return weighted_quantile(index, weight, 0.5) or 1.0
