"""How even rows are by their medians: a measure for comparing with counts and rows by hand."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from preprocess.marking.heat.medians import lit_row_medians
from preprocess.passes.tag_power.heat_bands import FIRST, LAST


@dataclass(frozen=True)
class RowEvenness:
    """Largest over median, and standard deviation over mean, of the medians of rows."""

    rows: float
    rows_cv: float


def row_evenness(heat, outputs) -> RowEvenness:
    """Measure the rows of some output layers but the first and last ones on each part."""
    found = []
    mine = [image for image in heat.images if image.output in outputs and image.lit.any()]
    for key in dict.fromkeys((image.part, image.angle) for image in mine):
        alike = [image for image in mine if (image.part, image.angle) == key]
        v, index = (np.concatenate(x) for x in zip(*map(lit_row_medians, alike), strict=True))
        places, rank = np.unique(np.round(v, 6), return_inverse=True)
        inner = (rank >= FIRST) & (rank < len(places) - LAST)
        found.append(index[inner])
    rows = np.concatenate(found)
    return RowEvenness(float(rows.max() / np.median(rows)), float(rows.std() / rows.mean()))
