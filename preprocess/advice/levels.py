"""Coarse estimate of the heat index with power levels, from a simulation without them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.marking.heat.evenness import FIRST, LAST, lit_row_medians
from preprocess.marking.heat.index_images import lit_values, weighted_quantile
from preprocess.passes.tag_power.level_bands import ALIKE

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from preprocess.arrays import Floats, Integers
    from preprocess.marking.heat.index_images import IndexImage


def levelled_index(
    patches: Sequence[IndexImage], layer_of: Mapping[str, str], levels: int
) -> tuple[Floats, Floats]:
    """Index and area of all places, were each layer cut into levels whose median becomes 1.

    Rows join by equal steps of the index's logarithm, as tag-power cuts them by heat. That the
    levels are then marked apart from one another is left out.
    """
    index, weight = [], []
    for layer in dict.fromkeys(layer_of.values()):
        mine = [patch for patch in patches if layer_of[patch.output] == layer and patch.lit.any()]
        if mine:
            own, area = _of_layer(mine, levels)
            index.append(own)
            weight.append(area)
    return np.concatenate(index), np.concatenate(weight)


def _of_layer(patches: Sequence[IndexImage], levels: int) -> tuple[Floats, Floats]:
    index, weight = lit_values(patches)
    level = np.concatenate(_levels(patches, levels))
    even = np.empty_like(index)
    for one in np.unique(level):
        here = level == one
        even[here] = index[here] / weighted_quantile(index[here], weight[here], 0.5)
    return even, weight


def _levels(patches: Sequence[IndexImage], levels: int) -> list[Integers]:
    """The level of every lit place of every patch."""
    rows = [np.log(_inner(lit_row_medians(patch)[1])) for patch in patches]
    low, high = min(r.min() for r in rows), max(r.max() for r in rows)
    width = (high - low) / levels if high - low > np.log(ALIKE) else np.inf
    found = []
    for patch, row in zip(patches, rows, strict=True):
        of_row = np.minimum((row - low) / width, levels - 1).astype(np.int64)
        count = patch.lit.sum(axis=1)
        found.append(np.repeat(of_row, count[count > 0]))
    return found


def _inner(index: Floats) -> Floats:
    """First and last rows like the rows beside them: no zone can change that they are cold."""
    inner = index[FIRST : len(index) - LAST]
    if not len(inner):
        return np.full(len(index), np.median(index))
    return np.pad(inner, (FIRST, LAST), mode="edge")
