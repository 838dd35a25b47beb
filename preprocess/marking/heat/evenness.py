"""How even a mark is: medians of the heat index by layer and by row, and figures over them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from preprocess.marking.heat.index_images import lit_values, weighted_quantile

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from preprocess.arrays import Floats
    from preprocess.marking.heat.index import HeatIndex
    from preprocess.marking.heat.index_images import IndexImage


FIRST, LAST = 25, 8
"""Rows at the beginning and at the end of a layer on a part that are left apart: they find the
plastic cold, or have a neighbour on one side only, whatever the power."""

_WIDE = 0.8
"""Share of the widest row from which rows count as wide."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Evenness:
    """Largest over median, and standard deviation over mean, of row medians and of all places.

    `over_wide` is the largest row median over that of the wide rows, which are hardly ever the hot
    ones. The figures of rows leave the first and last rows of each layer on each part apart.
    """

    rows: float
    over_wide: float
    rows_cv: float
    places: float
    places_cv: float

    @property
    def off(self) -> float:
        """By which factor the hottest row exceeds what is usual, in all rows or in the wide ones.

        Where most rows are narrow, all of them are as hot as most, and the wide ones are too weak.
        """
        return max(self.rows, self.over_wide)


def layer_medians(heat: HeatIndex) -> dict[str, float]:
    """The median index of each output layer that is lit on a part, weighted by area."""
    found = {}
    for output in dict.fromkeys(patch.output for patch in heat.patches):
        index, weight = lit_values([patch for patch in heat.patches if patch.output == output])
        if len(index):
            found[output] = weighted_quantile(index, weight, 0.5)
    return found


def evenness_of(heat: HeatIndex, layers: Sequence[Collection[str]]) -> Evenness | None:
    """Measure how even some layers are; None where none of them is lit.

    Args:
        heat: of the whole job.
        layers: for each layer the ids of its output layers, whose rows belong together.
    """
    wanted = {output for outputs in layers for output in outputs}
    index, weight = lit_values([patch for patch in heat.patches if patch.output in wanted])
    if not len(index):
        return None
    rows, spans = (np.concatenate(x) for x in zip(*(_rows(heat, o) for o in layers), strict=True))
    wide = rows[spans >= _WIDE * spans.max()]
    mean = float(index @ weight / weight.sum())
    spread = float(np.sqrt((index - mean) ** 2 @ weight / weight.sum()))
    return Evenness(
        rows=float(rows.max() / np.median(rows)),
        over_wide=float(rows.max() / np.median(wide)),
        rows_cv=float(rows.std() / rows.mean()),
        places=float(index.max()) / weighted_quantile(index, weight, 0.5),
        places_cv=spread / mean,
    )


def row_medians(heat: HeatIndex, outputs: Collection[str]) -> Floats:
    """The median index of each row of some output layers, first and last rows left apart.

    Where that leaves no row of a part, all of its rows count.
    """
    return _rows(heat, outputs)[0]


def _rows(heat: HeatIndex, outputs: Collection[str]) -> tuple[Floats, Floats]:
    """The median index of each row that counts, and its span on the part in mm."""
    found = [(np.empty(0), np.empty(0))]
    mine = [patch for patch in heat.patches if patch.output in outputs and patch.lit.any()]
    for key in dict.fromkeys((patch.part, patch.angle) for patch in mine):
        alike = [patch for patch in mine if (patch.part, patch.angle) == key]
        v, index = (np.concatenate(x) for x in zip(*map(lit_row_medians, alike), strict=True))
        span = np.concatenate([_spans(patch) for patch in alike])
        places, rank = np.unique(np.round(v, 6), return_inverse=True)
        inner = (rank >= FIRST) & (rank < len(places) - LAST)
        inner |= not inner.any()
        found.append((index[inner], span[inner]))
    index, span = (np.concatenate(both) for both in zip(*found, strict=True))
    return index, span


def lit_row_medians(patch: IndexImage) -> tuple[Floats, Floats]:
    """The v (mm) of the rows of a patch that are lit, and the median index of each."""
    lit = patch.lit.any(axis=1)
    return patch.v[lit], np.nanmedian(np.where(patch.lit, patch.index, np.nan)[lit], axis=1)


def _spans(patch: IndexImage) -> Floats:
    """From the first to the last lit place of each lit row, mm."""
    lit = patch.lit[patch.lit.any(axis=1)]
    last = lit.shape[1] - np.argmax(lit[:, ::-1], axis=1)
    step = float(patch.u[1] - patch.u[0]) if len(patch.u) > 1 else 1.0
    return np.asarray(step * (last - np.argmax(lit, axis=1)))
