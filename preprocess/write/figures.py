"""What can be measured on rings and lines without any geometry library: sums over edges."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]
Box = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Figures:
    """Sums over some rings or lines.

    `area` in mm² counts rings that run counter-clockwise as seen (y down) as positive, so that
    holes count as negative; `moments` are its first moments about the origin in mm³; `length` in
    mm includes the closing edge; `box` is left, top, right, bottom in mm.
    """

    count: int
    area: float
    length: float
    moments: tuple[float, float]
    box: Box | None


def measured(subpaths: tuple[tuple[Points, bool], ...], *, filled: bool) -> Figures:
    """Figures of the subpaths (points n×2, closed) of one path or layer; lines have no area."""
    rings = [points for points, closed in subpaths if closed and filled]
    sums = [shoelace(ring) for ring in rings]
    everything = np.concatenate([points for points, _ in subpaths]) if subpaths else None
    return Figures(
        count=len(subpaths),
        area=sum(area for area, _, _ in sums),
        length=sum(_length(points, closed=closed) for points, closed in subpaths),
        moments=(sum(x for _, x, _ in sums), sum(y for _, _, y in sums)),
        box=None if everything is None else box_of(everything),
    )


def shoelace(ring: Points) -> tuple[float, float, float]:
    """Signed area and its first moments (Green's theorem); positive counter-clockwise as seen."""
    centre = ring.mean(axis=0)
    x, y = (ring - centre).T
    x2, y2 = np.roll(x, -1), np.roll(y, -1)
    cross = y * x2 - x * y2
    area = float(cross.sum()) / 2
    along, down = float(((x + x2) * cross).sum()) / 6, float(((y + y2) * cross).sum()) / 6
    return area, along + float(centre[0]) * area, down + float(centre[1]) * area


def box_of(points: Points) -> Box:
    """Left, top, right, bottom."""
    (left, top), (right, bottom) = points.min(axis=0), points.max(axis=0)
    return float(left), float(top), float(right), float(bottom)


def _length(points: Points, *, closed: bool) -> float:
    steps = np.diff(points, axis=0, append=points[:1]) if closed else np.diff(points, axis=0)
    return float(np.hypot(steps[:, 0], steps[:, 1]).sum())
