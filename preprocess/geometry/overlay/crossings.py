"""Number of crossings of the contours of a path: the cost of finding the area they fill."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.arrays import Floats, Geometries


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
    segments = np.concatenate([_segments(points) for points in contours])
    tree = shapely.STRtree(segments)
    met, at, step = 0, 0, _BEGIN
    while at < len(segments) and met <= 2 * most:
        some = segments[at : at + step]
        pairs = tree.query(some, predicate="intersects").shape[1]
        met += max(0, pairs - 3 * len(some))  # each meets itself and its two neighbours
        at += step
        step = min(2 * step, _AT_ONCE) if pairs < _FEW_EACH * step else _BEGIN
    return met // 2


def _segments(points: Floats) -> Geometries:
    ends = np.stack((points, np.roll(points, -1, axis=0)), axis=1)
    moved = (ends[:, 0] != ends[:, 1]).any(axis=1)
    return shapely.linestrings(ends[moved])
