"""The heat index as one image of the page, for maps."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from preprocess.geometry.base.row_frame import RowFrame

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.arrays import Floats
    from preprocess.marking.heat.index_images import IndexImage


@dataclass(frozen=True, slots=True)
class PageImage:
    """Square pixels of `size` mm, rows from the top; nan where nothing is marked.

    The upper left corner of the first pixel lies at (`left`, `top`) on the page (mm).
    """

    left: float
    top: float
    size: float
    index: Floats


def page_image(patches: Sequence[IndexImage], size: float) -> PageImage:
    """Draw all patches onto one page; where several mark the same pixel the highest index shows.

    Every lit cell colours the pixels whose middles it holds, so pixels may be finer than cells.
    """
    lit = [patch for patch in patches if patch.lit.any()]
    if not lit:
        return PageImage(0.0, 0.0, size, np.empty((0, 0)))
    boxes = np.array([_box(patch) for patch in lit])
    left, top = np.floor(boxes[:, :2].min(axis=0) / size) * size
    right, bottom = boxes[:, 2:].max(axis=0)
    width, height = (int(np.ceil((b - a) / size)) for a, b in ((left, right), (top, bottom)))
    image = np.full((height, width), -np.inf)
    x, y = left + size * (np.arange(width) + 0.5), top + size * (np.arange(height) + 0.5)
    for patch, bounds in zip(lit, boxes, strict=True):
        columns = slice(*np.searchsorted(x, (bounds[0], bounds[2])))
        rows = slice(*np.searchsorted(y, (bounds[1], bounds[3])))
        seen = _seen(patch, x[columns], y[rows])
        np.maximum(image[rows, columns], seen, out=image[rows, columns])
    image[np.isneginf(image)] = np.nan
    return PageImage(float(left), float(top), size, image)


def _steps(patch: IndexImage) -> tuple[float, float]:
    """Width of a column and height of a row, mm."""
    across = float(np.diff(patch.v).min()) if len(patch.v) > 1 else patch.cell**0.5
    return patch.cell / across, across


def _box(patch: IndexImage) -> tuple[float, float, float, float]:
    x, y = patch.points
    x, y, reach = x[patch.lit], y[patch.lit], max(_steps(patch))
    return x.min() - reach, y.min() - reach, x.max() + reach, y.max() + reach


def _seen(patch: IndexImage, x: Floats, y: Floats) -> Floats:
    """The patch's index at the middles of some pixels; −inf where it is not lit.

    A row's cells reach from its line half a row to both sides.
    """
    along, across = _steps(patch)
    u, v = RowFrame(patch.angle).to_uv(x[None, :], y[:, None])
    column = np.floor((u - patch.u[0]) / along + 0.5).astype(np.int64)
    after = np.clip(np.searchsorted(patch.v, v), 1, max(1, len(patch.v) - 1))
    before = after - 1
    after = np.minimum(after, len(patch.v) - 1)
    row = np.where(v - patch.v[before] <= patch.v[after] - v, before, after)
    inside = (column >= 0) & (column < len(patch.u)) & (np.abs(v - patch.v[row]) <= across / 2)
    column = np.clip(column, 0, len(patch.u) - 1)
    lit = inside & patch.lit[row, column]
    return np.where(lit, patch.index[row, column], -np.inf)
