"""Offsets of output layers: by how much each is hotter than the rest, over all spreads."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.marking.heat.index_images import weighted_quantile

if TYPE_CHECKING:
    from preprocess.marking.heat.index import HeatIndex

_LIKELY = 0.5
"""Weight of the likely spread; the others share the rest."""


def layer_offsets(heat: HeatIndex) -> dict[str, float]:
    """Mean over its area of ln(index / median of the job), by output layer that is lit.

    A power times exp(-offset) would bring the layer to the median, were the others unmoved.
    """
    lit = [image for image in heat.images if image.lit.any()]
    if not lit:
        return {}
    index = np.concatenate([image.indices[:, image.lit] for image in lit], axis=1)
    weight = np.concatenate([image.stands_for * image.areas[image.lit] for image in lit])
    layer = np.repeat([image.output for image in lit], [int(image.lit.sum()) for image in lit])
    others = len(index) - 1
    shares = [_LIKELY, *[(1 - _LIKELY) / others] * others] if others else [1.0]
    off = sum(
        share * np.log(one / weighted_quantile(one, weight, 0.5))
        for share, one in zip(shares, index, strict=True)
    )
    return {
        name: float(np.average(off[layer == name], weights=weight[layer == name]))
        for name in dict.fromkeys(layer.tolist())
    }
