"""Open lines whose ends nearly meet, joined into rings."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import shapely

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.arrays import Floats, Geometries


_SHORT = 3.0

_FEWEST = 3


class ClosedRing(NamedTuple):
    """A ring (n × 2, open) made of lines, by their numbers, and the widest gap it closed, mm."""

    points: Floats
    lines: tuple[int, ...]
    gap: float


def close_rings(lines: Geometries, within: float) -> list[ClosedRing]:
    """Rings of lines whose ends lie within a distance (mm) of one another, the nearest first.

    Each end is joined to one other at most. Chains that remain open make no ring. A ring that
    was closed already is one, with no gap. The two ends of a line shorter than `_SHORT` times the
    distance are never joined: it is a piece of something longer.
    """
    points = [shapely.get_coordinates(line) for line in lines]
    onward = _matched(points, within)
    found: list[ClosedRing] = []
    done: set[int] = set()
    for number in range(len(points)):
        if number not in done:
            way = _around((number, 0), onward)
            done |= {line for line, _ in way}
            ring = _ring(way, points) if onward.get(_end(way[-1])) == way[0] else None
            found += [ring] if ring is not None else []
    return found


def _matched(points: Sequence[Floats], within: float) -> dict[tuple[int, int], tuple[int, int]]:
    """For each end (line, 0 or 1) the end that it is joined to; nearest pairs first."""
    from scipy.spatial import KDTree

    if not points:
        return {}
    ends = np.concatenate([p[[0, -1]] for p in points])
    pairs = KDTree(ends).query_pairs(max(within, 1e-9), output_type="ndarray").reshape(-1, 2)
    pairs.sort(axis=1)
    length = np.array([float(np.hypot(*np.diff(p, axis=0).T).sum()) for p in points])
    own = pairs[:, 0] // 2 == pairs[:, 1] // 2
    pairs = pairs[~own | (length[pairs[:, 0] // 2] > _SHORT * within)]
    away = np.hypot(*(ends[pairs[:, 0]] - ends[pairs[:, 1]]).T)
    joined: dict[tuple[int, int], tuple[int, int]] = {}
    for i, j in pairs[np.lexsort((pairs[:, 1], pairs[:, 0], away))].tolist():
        one, other = divmod(i, 2), divmod(j, 2)
        if one not in joined and other not in joined:
            joined |= {one: other, other: one}
    return joined


def _around(
    start: tuple[int, int], onward: dict[tuple[int, int], tuple[int, int]]
) -> list[tuple[int, int]]:
    """Lines and the ends they are entered by, from one on until none follows."""
    way = [start]
    while (after := onward.get(_end(way[-1]))) is not None and after != start:
        way.append(after)
    return way


def _end(entered: tuple[int, int]) -> tuple[int, int]:
    line, side = entered
    return line, 1 - side


def _ring(way: Sequence[tuple[int, int]], points: Sequence[Floats]) -> ClosedRing | None:
    pieces = [points[line][:: -1 if side else 1] for line, side in way]
    gaps = [
        float(np.hypot(*(b[0] - a[-1])))
        for a, b in zip(pieces, [*pieces[1:], pieces[0]], strict=True)
    ]
    every = np.concatenate(pieces)
    same = (every == np.roll(every, 1, axis=0)).all(axis=1)
    every = every[~same]
    if len(every) < _FEWEST:
        return None
    return ClosedRing(points=every, lines=tuple(line for line, _ in way), gap=max(gaps))
