"""Number of crossings of the contours of a path: the cost of finding the area they fill."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.arrays import Floats, Geometries, Indices


FEW_SEGMENTS = 64
"""Contours of fewer segments are not counted: they cannot cross often enough to matter."""

_BEGIN, _AT_ONCE, _FEW_EACH = 16, 4096, 8


def count_crossings(contours: Sequence[Floats], most: int) -> int:
    """Count pairs of segments that meet without being neighbours; counting stops beyond `most`.

    Args:
        contours: N x 2 each, implicitly closed.
        most: a number that is enough to know.
    """
    if sum(map(len, contours)) < FEW_SEGMENTS:
        return 0
    rings = [shapely.linestrings(np.vstack((points, points[:1]))) for points in contours]
    if shapely.is_simple(shapely.multilinestrings(rings)):
        return 0
    segments, after = _segments(contours)
    tree = shapely.STRtree(segments)
    met, at, step = 0, 0, _BEGIN
    while at < len(segments) and met <= most:
        one, other = tree.query(segments[at : at + step])
        one += at
        new = (one < other) & (after[one] != other) & (after[other] != one)
        met += int(shapely.intersects(segments[one[new]], segments[other[new]]).sum())
        at += step
        step = min(2 * step, _AT_ONCE) if len(one) < _FEW_EACH * step else _BEGIN
    return met


def _segments(contours: Sequence[Floats]) -> tuple[Geometries, Indices]:
    """Segments of all contours that have a length, and which of them follows each."""
    begins = np.concatenate(contours)
    ends = np.concatenate([np.roll(points, -1, axis=0) for points in contours])
    moved = (begins != ends).any(axis=1)
    contour = np.repeat(np.arange(len(contours)), [len(points) for points in contours])[moved]
    after = np.arange(1, len(contour) + 1)
    first = np.flatnonzero(np.diff(contour, prepend=-1))
    after[np.append(first[1:], len(contour)) - 1] = first
    return shapely.linestrings(np.stack((begins, ends), axis=1)[moved]), after
