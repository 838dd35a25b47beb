"""Integer ranges written out as arrays, in place of nested loops."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from preprocess.arrays import Indices


_MOST = 200_000_000


def expand_ranges(first: Indices, stop: Indices) -> tuple[Indices, Indices]:
    """Write out the ranges first[i] … stop[i] - 1; a range that ends before it begins is empty.

    Returns:
        For each number: the index i of its range, and the number itself.

    Raises:
        MemoryError: more than 200 million numbers.
    """
    size = np.maximum(stop - first, 0)
    if size.sum() > _MOST:
        raise MemoryError(f"more than {_MOST} numbers")
    owner = np.repeat(np.arange(len(size)), size)
    before = np.cumsum(size) - size
    return owner, np.arange(len(owner)) - before[owner] + first[owner]
