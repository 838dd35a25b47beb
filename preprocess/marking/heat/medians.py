"""Medians of the heat index by output layer and by row."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.marking.heat.index_images import lit_values, weighted_quantile

if TYPE_CHECKING:
    from preprocess.arrays import Floats
    from preprocess.marking.heat.index import HeatIndex
    from preprocess.marking.heat.index_images import IndexImage


def layer_medians(heat: HeatIndex) -> dict[str, float]:
    """Median index of each output layer with lit cells, weighted by area."""
    found = {}
    for output in dict.fromkeys(image.output for image in heat.images):
        index, weight = lit_values([image for image in heat.images if image.output == output])
        if len(index):
            found[output] = weighted_quantile(index, weight, 0.5)
    return found


def lit_row_medians(image: IndexImage) -> tuple[Floats, Floats]:
    """The v (mm) of the lit rows of an image, and the median index of each."""
    lit = image.lit.any(axis=1)
    return image.v[lit], np.nanmedian(np.where(image.lit, image.index, np.nan)[lit], axis=1)
