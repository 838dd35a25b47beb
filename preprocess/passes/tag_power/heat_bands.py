"""Heat index of each row, for zones whose power follows it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.marking.heat.index import heat_index
from preprocess.marking.heat.medians import lit_row_medians
from preprocess.marking.job.return_times import expect_speed
from preprocess.marking.job.rows import RowValues

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.arrays import Floats
    from preprocess.marking.heat.index_images import IndexImage
    from preprocess.marking.job.plan import RasterGroup
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.bench.bench import Bench


FIRST, LAST = 25, 8
"""Rows at the beginning and at the end of a layer on a part that no zone can change: they find the
plastic cold, or have a neighbour on one side only."""

_SMOOTH = 13
"""Rows over which the index is averaged, so that zones do not follow every leaflet's edge."""


def images_by_group(
    groups: Sequence[tuple[int, RasterGroup]], artwork: Artwork, bench: Bench
) -> list[list[IndexImage]]:
    """Images of the heat index of each group, one for each part that it marks.

    Args:
        groups: rows, each with its step in the plan of the artwork.
        artwork: as it stands; all of it warms the rows.
        bench: machine, filament, parts.

    Raises:
        Refusal: the speed of the rows is not known.
    """
    for _, group in groups:
        expect_speed(group)
    images = heat_index(artwork, bench).images
    return [[image for image in images if image.step == step] for step, _ in groups]


def coolness_by_row(
    groups: Sequence[RasterGroup], images: Sequence[Sequence[IndexImage]]
) -> list[RowValues]:
    """Coolness of each lit row: one over its median heat index, smoothed along the rows.

    The first and last rows of a group take the value of the rows beside them: they start cold, or
    have a neighbour on one side only, which no zone can change. A group that has hardly more rows
    than these has one value, its median.
    """
    return [_measured(group, some) for group, some in zip(groups, images, strict=True)]


def _measured(group: RasterGroup, patches: Sequence[IndexImage]) -> RowValues:
    """Values of one group's rows; where several parts share a row, the hottest counts."""
    hottest: dict[int, float] = {}
    for patch in patches:
        v, index = lit_row_medians(patch)
        rows = np.rint((v - group.first) / group.pitch).astype(np.int64)
        for row, value in zip(rows.tolist(), index.tolist(), strict=True):
            hottest[row] = max(value, hottest.get(row, 0.0))
    if not hottest:
        return RowValues(np.empty(0, np.int64), np.empty(0))
    rows = np.array(sorted(hottest))
    index = np.array([hottest[row] for row in rows.tolist()])
    return RowValues(rows, 1 / _smoothed(index))


def _smoothed(index: Floats) -> Floats:
    from scipy.ndimage import uniform_filter1d

    inner = index[FIRST : len(index) - LAST]
    if len(inner) < _SMOOTH:
        return np.full(len(index), np.median(index))
    smooth = uniform_filter1d(inner, _SMOOTH, mode="nearest")
    return np.pad(smooth, (FIRST, LAST), mode="edge")
