"""Evenness of a mark: medians of the heat index by layer and by row, and figures over them."""

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
        """Factor of the hottest row over the median, of all rows or of the wide ones.

        Where most rows are narrow, all of them are as hot as most, and the wide ones are too weak.
        """
        return max(self.rows, self.over_wide)


def layer_medians(heat: HeatIndex) -> dict[str, float]:
    """Median index of each output layer with lit cells, weighted by area."""
    found = {}
    for output in dict.fromkeys(image.output for image in heat.images):
        index, weight = lit_values([image for image in heat.images if image.output == output])
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
    index, weight = lit_values([image for image in heat.images if image.output in wanted])
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


def _rows(heat: HeatIndex, outputs: Collection[str]) -> tuple[Floats, Floats]:
    """The median index of each row that counts, and its span on the part in mm.

    Where the first and last rows are all that a part has, all of them count.
    """
    found = [(np.empty(0), np.empty(0))]
    mine = [image for image in heat.images if image.output in outputs and image.lit.any()]
    for key in dict.fromkeys((image.part, image.angle) for image in mine):
        alike = [image for image in mine if (image.part, image.angle) == key]
        v, index = (np.concatenate(x) for x in zip(*map(lit_row_medians, alike), strict=True))
        span = np.concatenate([_spans(image) for image in alike])
        places, rank = np.unique(np.round(v, 6), return_inverse=True)
        inner = (rank >= FIRST) & (rank < len(places) - LAST)
        inner |= not inner.any()
        found.append((index[inner], span[inner]))
    index, span = (np.concatenate(both) for both in zip(*found, strict=True))
    return index, span


def lit_row_medians(image: IndexImage) -> tuple[Floats, Floats]:
    """The v (mm) of the lit rows of an image, and the median index of each."""
    lit = image.lit.any(axis=1)
    return image.v[lit], np.nanmedian(np.where(image.lit, image.index, np.nan)[lit], axis=1)


def _spans(image: IndexImage) -> Floats:
    """From the beginning to the end of each lit row, mm; end cells count by their lit share."""
    rows = image.lit.any(axis=1)
    lit, share = image.lit[rows], image.share[rows].astype(np.float64)
    first = np.argmax(lit, axis=1)
    last = lit.shape[1] - 1 - np.argmax(lit[:, ::-1], axis=1)
    row = np.arange(len(lit))
    step = float(image.u[1] - image.u[0]) if len(image.u) > 1 else 1.0
    ends = share[row, first] + share[row, last]
    return np.asarray(step * np.where(first == last, share[row, first], last - first - 1 + ends))
