"""How even a mark is: medians of the heat index by layer and by row, and figures over them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from preprocess.marking.patches import quantile, values

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from numpy.typing import NDArray

    from preprocess.marking.heat import Heat
    from preprocess.marking.patches import Patch

    Floats = NDArray[np.float64]

FIRST, LAST = 25, 8
"""Rows at the beginning and at the end of a layer on a part that are left apart: they find the
plastic cold, or have a neighbour on one side only, whatever the power."""

COLD = 6
"""Rows after a blank that are not yet within 1 % of what they come to, at most."""

GAP = 1.5
"""Rows farther apart than so many of the usual steps have a blank between them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Evenness:
    """Largest over median, and standard deviation over mean, of row medians and of all places.

    `rows_cold` is their median over the smallest row median, rows just after a blank apart, since
    they find the plastic cold. The figures of rows leave the first and last rows of each layer on
    each part apart.
    """

    rows: float
    rows_cold: float
    rows_cv: float
    places: float
    places_cv: float

    @property
    def off(self) -> float:
        """By which factor the row farthest from the median is too hot or too cold."""
        return max(self.rows, self.rows_cold)


def medians(heat: Heat) -> dict[str, float]:
    """The median index of each output layer that is lit on a part, weighted by area."""
    found = {}
    for output in dict.fromkeys(patch.output for patch in heat.patches):
        index, weight = values([patch for patch in heat.patches if patch.output == output])
        if len(index):
            found[output] = quantile(index, weight, 0.5)
    return found


def evenness(heat: Heat, layers: Sequence[Collection[str]]) -> Evenness | None:
    """Measure how even some layers are; None where none of them is lit.

    Args:
        heat: of the whole job.
        layers: for each layer the ids of its output layers, whose rows belong together.
    """
    wanted = {output for outputs in layers for output in outputs}
    index, weight = values([patch for patch in heat.patches if patch.output in wanted])
    if not len(index):
        return None
    rows = np.concatenate([row_medians(heat, outputs) for outputs in layers])
    warm = np.concatenate([row_medians(heat, outputs, warm=True) for outputs in layers])
    mean = float(index @ weight / weight.sum())
    spread = float(np.sqrt((index - mean) ** 2 @ weight / weight.sum()))
    return Evenness(
        rows=float(rows.max() / np.median(rows)),
        rows_cold=float(np.median(rows) / warm.min()),
        rows_cv=float(rows.std() / rows.mean()),
        places=float(index.max()) / quantile(index, weight, 0.5),
        places_cv=spread / mean,
    )


def row_medians(heat: Heat, outputs: Collection[str], *, warm: bool = False) -> Floats:
    """The median index of each row of some output layers, first and last rows left apart.

    `warm` leaves out what lies beside a blank as well: a few rows after it and the last before it.
    Where that leaves no row of a part, all of its rows count.
    """
    found = [np.empty(0)]
    mine = [patch for patch in heat.patches if patch.output in outputs and patch.lit.any()]
    for key in dict.fromkeys((patch.part, patch.angle) for patch in mine):
        same = [row_medians_of(patch) for patch in mine if (patch.part, patch.angle) == key]
        v, index = (np.concatenate(both) for both in zip(*same, strict=True))
        places, rank = np.unique(np.round(v, 6), return_inverse=True)
        inner = (rank >= FIRST) & (rank < len(places) - LAST)
        if warm and (inner & _is_warm(places)[rank]).any():
            inner &= _is_warm(places)[rank]
        found.append(index[inner] if inner.any() else index)
    return np.concatenate(found)


def _is_warm(places: Floats) -> NDArray[np.bool_]:
    """Rows (their v, ascending) that are neither the first few nor the last of their stretch."""
    if len(places) < 2:  # noqa: PLR2004 - a single row has no neighbour
        return np.zeros(len(places), np.bool_)
    steps = np.diff(places)
    breaks = np.flatnonzero(steps > GAP * np.median(steps)) + 1
    first, end = np.append(0, breaks), np.append(breaks, len(places))
    stretch = np.repeat(np.arange(len(first)), end - first)
    number = np.arange(len(places))
    return (number - first[stretch] >= COLD) & (number < end[stretch] - 1)


def row_medians_of(patch: Patch) -> tuple[Floats, Floats]:
    """The v (mm) of the rows of a patch that are lit, and the median index of each."""
    lit = patch.lit.any(axis=1)
    return patch.v[lit], np.nanmedian(np.where(patch.lit, patch.index, np.nan)[lit], axis=1)
