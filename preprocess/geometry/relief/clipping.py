"""Triangles cut off at a height: what of them lies above it, and what below."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from preprocess.arrays import Booleans, Floats


def above(triangles: Floats, height: float) -> Floats:
    """The pieces of triangles (n × 3 × 3) with z > height, as triangles of the same turn."""
    z = triangles[:, :, 2] - height
    over = z > 0
    count = over.sum(axis=1)
    pieces = [triangles[count == 3]]  # noqa: PLR2004 - all three corners
    for number in (1, 2):
        cut = count == number
        if cut.any():
            pieces += _cut(triangles[cut], z[cut], over[cut], height, lone_over=number == 1)
    return np.concatenate(pieces)


def below(triangles: Floats, height: float) -> Floats:
    """The pieces of triangles (n × 3 × 3) with z < height; they are turned the other way."""
    flip = np.array([1.0, 1.0, -1.0])
    return above(triangles * flip, -height) * flip


def _cut(
    triangles: Floats, z: Floats, over: Booleans, height: float, *, lone_over: bool
) -> list[Floats]:
    """Pieces of triangles with one corner on one side of the height, and two on the other."""
    row = np.arange(len(triangles))
    lone = np.argmax(over if lone_over else ~over, axis=1)
    second, third = (lone + 1) % 3, (lone + 2) % 3
    a, b, c = (triangles[row, corner] for corner in (lone, second, third))
    own, one, two = (z[row, corner] for corner in (lone, second, third))
    p = a + (b - a) * (own / (own - one))[:, None]
    q = a + (c - a) * (own / (own - two))[:, None]
    p[:, 2] = q[:, 2] = height
    if lone_over:
        return [np.stack([a, p, q], axis=1)]
    return [np.stack([p, b, c], axis=1), np.stack([p, c, q], axis=1)]
