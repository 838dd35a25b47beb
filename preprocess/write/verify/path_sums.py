"""Area, length and moments of rings and lines as sums over edges, without a geometry library."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from preprocess.arrays import Points


@dataclass(frozen=True, slots=True, kw_only=True)
class PathSums:
    """Sums over some rings or lines.

    `area` in mm² counts rings that run counter-clockwise as seen (y down) as positive, so that
    holes count as negative; `moments` are its first moments about the origin in mm³; `length` in
    mm includes the closing edge.
    """

    count: int
    area: float
    length: float
    moments: tuple[float, float]


Subpaths = Sequence[tuple["Points", bool]]
"""Subpaths of one path or layer: points (n×2), and whether it is closed."""


def path_sums(paths: Sequence[Subpaths], *, filled: bool) -> list[PathSums]:
    """Sums over the subpaths of each path; lines have no area."""
    each = [(number, *subpath) for number, path in enumerate(paths) for subpath in path]
    rings = [(number, points) for number, points, closed in each if closed and filled]
    sums = np.zeros((3, len(paths)))
    if rings:
        owner = [number for number, _ in rings]
        laces = shoelaces([points for _, points in rings])
        sums = np.stack([np.bincount(owner, row, minlength=len(paths)) for row in laces])
    lengths = [0.0] * len(paths)
    for number, points, closed in each:
        lengths[number] += _length(points, closed=closed)
    return [
        PathSums(count=len(path), area=area, length=length, moments=(along, down))
        for path, length, (area, along, down) in zip(paths, lengths, sums.T.tolist(), strict=True)
    ]


def shoelaces(rings: Sequence[Points]) -> Points:
    """Signed areas and their first moments (Green's theorem), 3 × rings.

    Positive counter-clockwise as seen. Each ring is reckoned about its own middle.
    """
    counts = np.array([len(ring) for ring in rings])
    begins = np.cumsum(counts) - counts
    after = np.arange(counts.sum()) + 1
    after[begins + counts - 1] = begins
    points = np.concatenate(rings)
    centre = np.add.reduceat(points, begins) / counts[:, None]
    x, y = (points - np.repeat(centre, counts, axis=0)).T
    x2, y2 = x[after], y[after]
    cross = y * x2 - x * y2
    sums = np.add.reduceat(np.stack((cross, (x + x2) * cross, (y + y2) * cross)), begins, axis=1)
    area = sums[0] / 2
    return np.stack((area, sums[1] / 6 + centre[:, 0] * area, sums[2] / 6 + centre[:, 1] * area))


def _length(points: Points, *, closed: bool) -> float:
    steps = points[1:] - points[:-1]
    length = float(np.hypot(steps[:, 0], steps[:, 1]).sum())
    return length + math.dist(points[-1].tolist(), points[0].tolist()) if closed else length
