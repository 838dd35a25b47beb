"""Area, length and moments of rings and lines as sums over edges, without a geometry library."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

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


def path_sums(subpaths: tuple[tuple[Points, bool], ...], *, filled: bool) -> PathSums:
    """Sums over the subpaths (points n×2, closed) of one path or layer; lines have no area."""
    rings = [points for points, closed in subpaths if closed and filled]
    area, along, down = shoelaces(rings).sum(axis=1).tolist() if rings else (0.0, 0.0, 0.0)
    return PathSums(
        count=len(subpaths),
        area=area,
        length=sum(_length(points, closed=closed) for points, closed in subpaths),
        moments=(along, down),
    )


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
    steps = np.diff(points, axis=0, append=points[:1]) if closed else np.diff(points, axis=0)
    return float(np.hypot(steps[:, 0], steps[:, 1]).sum())
