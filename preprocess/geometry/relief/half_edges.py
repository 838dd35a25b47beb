"""Half-edges of triangles: which of them no other one cancels."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from preprocess.arrays import Indices, Integers, UnsignedIntegers

_FACTORS = tuple(np.uint64(n) for n in (0x9E3779B97F4A7C15, 0xC2B2AE3D27D4EB4F, 0x165667B19E3779F9))
"""Odd numbers whose multiples spread over all bits."""


def mixed_bits(*columns: Integers | UnsignedIntegers) -> UnsignedIntegers:
    """One number of 64 bits for each row of up to four columns.

    Equal rows have equal ones, and others hardly ever.
    """
    total = np.zeros(len(columns[0]), np.uint64)
    for factor, column in zip(_FACTORS, columns, strict=False):
        total = (total ^ column.view(np.uint64)) * factor
        total ^= total >> np.uint64(29)
    return total


def unpaired_edges(
    start: Integers | UnsignedIntegers, stop: Integers | UnsignedIntegers
) -> tuple[Indices, Integers]:
    """Half-edges that are left when those that run against one another cancel.

    Args:
        start: number of the corner at which each begins.
        stop: number of the corner at which it ends.

    Returns:
        The index of one of each kind that is left, and how many are left: more than 0 from the
        lower number to the higher, less the other way.
    """
    ahead = start < stop
    mixed = mixed_bits(np.where(ahead, start, stop), np.where(ahead, stop, start))
    order = np.argsort(mixed, kind="stable")
    ranked = mixed[order]
    first = np.flatnonzero(np.concatenate(([True], ranked[1:] != ranked[:-1])))
    sign = np.where(ahead, 1, -1) * (start != stop)
    net = np.add.reduceat(sign[order], first)
    left = net != 0
    return order[first[left]], net[left]
