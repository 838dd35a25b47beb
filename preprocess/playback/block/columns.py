"""Columns of whole numbers, written as planes of bytes: deflate packs them better than numbers."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Mapping

    from preprocess.arrays import Integers

PLAIN, STEPS, SIGNED = 0, 1, 2
"""Numbers as they are; differences of neighbours; numbers of either sign as 2n or −2n − 1."""


@dataclass(frozen=True, slots=True, eq=False)
class Column:
    """Whole numbers and how they are written; only `SIGNED` ones may be negative."""

    values: Integers
    code: int = PLAIN


def written_columns(
    columns: Mapping[str, Column], at: int
) -> tuple[dict[str, tuple[int, int, int, int]], bytes]:
    """Columns as bytes, which begin at `at` of the block, and where each of them is.

    Returns:
        By name the number of bytes to a value, of values, of the first byte, and the code.
        The lowest bytes of all values come first, then the next ones.
    """
    directory, blocks = {}, []
    for name, column in columns.items():
        width, data = _planes(column)
        directory[name] = (width, len(column.values), at, column.code)
        blocks.append(data)
        at += len(data)
    return directory, b"".join(blocks)


def _planes(column: Column) -> tuple[int, bytes]:
    values = np.asarray(column.values, np.int64)
    if column.code == SIGNED:
        values = np.where(values < 0, -2 * values - 1, 2 * values)
    if len(values) and values.min() < 0:
        raise ValueError("a column holds a negative number")
    width = max(1, -(-int(values.max(initial=0)).bit_length() // 8))
    if column.code == STEPS:
        values = np.diff(values, prepend=0) % (1 << 8 * width)
    planes = values.astype("<i8").view(np.uint8).reshape(-1, 8)[:, :width]
    return width, planes.T.tobytes()
