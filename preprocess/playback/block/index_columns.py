"""Columns of the heat index: cells of every image, pooled where there are too many."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from preprocess.playback.block.beam_columns import LENGTH
from preprocess.playback.block.beam_sets import RowSet
from preprocess.playback.block.columns import SIGNED, STEPS, Column

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.arrays import Floats, Integers
    from preprocess.marking.heat.index_images import IndexImage
    from preprocess.playback.block.beam_sets import LineSet

_FINEST = 80
"""Steps of the index to 1, where none is larger than 3.19."""

_MOST = 255


def index_columns(
    images: Sequence[IndexImage], sets: Sequence[RowSet | LineSet], most: int
) -> tuple[dict[str, Any], dict[str, Column]]:
    """The index of all lit cells, of no more than about `most` of them, with facts for the head.

    Where there are more, the largest of `pooled` × `pooled` neighbours of an image stands for them.
    The middle of the first cell of a row lies `image_first` + `first` halves of a column along,
    that of the next one `pooled` columns farther; `widths` are those of columns, mm. A cell of a
    short run lies `cell_aside` from there. Images of rows that are in no set are left out.
    """
    rows = {(s.step, s.round): (n, s) for n, s in enumerate(sets) if isinstance(s, RowSet)}
    by = max(1, int(np.ceil(np.sqrt(sum(int(image.lit.sum()) for image in images) / most))))
    found: dict[str, list[Integers]] = {name: [np.empty(0, np.int64)] for name in _COLUMNS}
    widths: list[float] = []
    highest = max((float(image.index[image.lit].max(initial=0)) for image in images), default=0.0)
    unit = max(1 / _FINEST, highest / _MOST)
    for image in images:
        if (image.step, image.round) not in rows:
            continue
        number, mine = rows[image.step, image.round]
        width = round(image.cell / mine.pitch, 9)
        if width not in widths:
            widths.append(width)
        index = _largest(image, by)
        lit = index >= 0
        middle = np.minimum(np.arange(len(index)) * by + by // 2, len(image.v) - 1)
        some = {
            "image_set": number,
            "image_part": (image.part or 0) + 1,
            "image_width": widths.index(width),
            "image_first": round(2 * float(image.u[0]) / width) + by - 1,
            "image_rows": index.shape[0],
            "image_columns": index.shape[1],
            "image_row": np.searchsorted(mine.v, image.v[middle]),
            "cell_lit": np.packbits(lit),
            "cell_index": np.rint(index[lit] / unit),
            "cell_aside": _aside(image, by)[lit],
        }
        for name, values in some.items():
            found[name].append(np.atleast_1d(np.asarray(values, np.int64)))
    columns = {name: np.concatenate(found[name]) for name in _COLUMNS}
    first = int(columns["image_first"].min(initial=0))
    columns["image_first"] -= first
    if not columns["cell_aside"].any():
        columns["cell_aside"] = columns["cell_aside"][:0]
    facts = {"unit": unit, "pooled": by, "first": first, "widths": widths}
    return facts, {name: Column(columns[name], code) for name, code in _COLUMNS.items()}


_COLUMNS = {
    "image_set": 0,
    "image_part": 0,
    "image_width": 0,
    "image_first": 0,
    "image_rows": 0,
    "image_columns": 0,
    "image_row": STEPS,
    "cell_lit": 0,
    "cell_index": 0,
    "cell_aside": SIGNED,
}
"""Columns of images and cells, and how they are written."""


def _aside(image: IndexImage, by: int) -> Integers:
    """How far from its column each cell is evaluated; of pooled ones no more is known."""
    if image.aside is None or by > 1:
        rows, columns = (-(-size // by) for size in image.lit.shape)
        return np.zeros((rows, columns), np.int64)
    return np.rint(image.aside / LENGTH).astype(np.int64)


def _largest(image: IndexImage, by: int) -> Floats:
    """The largest index of each `by` × `by` cells, −1 where none of them is lit."""
    index = np.where(image.lit, image.index, -1.0)
    rows, columns = (-(-size // by) for size in index.shape)
    beyond = [(0, rows * by - index.shape[0]), (0, columns * by - index.shape[1])]
    whole = np.pad(index, beyond, constant_values=-1.0)
    return np.asarray(whole.reshape(rows, by, columns, by).max(axis=(1, 3)))
