"""Comparison of two sets of rings, or two runs of lines, but for rounding."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.geometry.base.polylines import start_at_topmost
from preprocess.geometry.overlay.arrangement import fill_contours
from preprocess.write.verify.path_sums import shoelaces

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import MultiLineString, MultiPolygon

    from preprocess.arrays import Indices, Integers, Points


def painted_area(rings: Sequence[Points]) -> MultiPolygon:
    """The area that rings paint together under the even-odd rule."""
    return fill_contours(rings, "evenodd")


@dataclass(frozen=True, slots=True)
class Rings:
    """Rings of one path, n × 2 each, and what each is on the grid, wherever it begins."""

    points: Sequence[Points]
    keys: Sequence[bytes]


def same_rings(meant: Rings, read: Rings, grid: float) -> bool:
    """Test whether rings are those of an area, each vertex rounded to the grid, holes reversed.

    Rings that agree vertex by vertex are set aside. Where rounding joined, split or mended rings,
    what the rest paints decides: it may differ by nothing wider than twice the grid.
    """
    lacking, extra = _unmatched(meant, read), _unmatched(read, meant)
    if not lacking and not extra:
        return True
    one, other = painted_area(lacking), painted_area(extra)
    difference = shapely.symmetric_difference(one, other)
    return bool(shapely.is_empty(shapely.buffer(difference, -grid, quad_segs=2)))


def rings_of_paths(paths: Sequence[Sequence[Points]], grid: float) -> list[Rings]:
    """Rings of many paths, as they were read."""
    keys = iter(_keys([ring for rings in paths for ring in rings], grid))
    return [Rings(rings, [next(keys) for _ in rings]) for rings in paths]


def rings_of_areas(areas: Sequence[MultiPolygon], grid: float) -> list[Rings]:
    """Rings of many areas without the repeated point, outer ones counter-clockwise as seen."""
    parts, area = shapely.get_parts(areas, return_index=True)
    rings, part = shapely.get_rings(parts, return_index=True)
    hole = np.diff(part, prepend=-1) == 0
    points, ring = shapely.get_coordinates(rings, return_index=True)
    ends = np.cumsum(np.bincount(ring, minlength=len(rings))).tolist()
    found = [points[begin : end - 1] for begin, end in pairwise([0, *ends])]
    wrong_way = (shoelaces(found)[0] < 0) != hole if found else hole
    turned: list[list[Points]] = [[] for _ in areas]
    for one, turn, number in zip(found, wrong_way.tolist(), area[part].tolist(), strict=True):
        turned[number].append(one[::-1] if turn else one)
    return rings_of_paths(turned, grid)


def _unmatched(rings: Rings, others: Rings) -> list[Points]:
    """Rings that have no counterpart of their own among the others."""
    left = Counter(others.keys)
    found = []
    for ring, key in zip(rings.points, rings.keys, strict=True):
        if left[key]:
            left[key] -= 1
        else:
            found.append(ring)
    return found


def same_lines(lines: MultiLineString, read: Sequence[tuple[Points, bool]], grid: float) -> bool:
    """Test whether lines come back in order, vertex by vertex; those below the grid may lack."""
    meant = [_steps(shapely.get_coordinates(line), grid) for line in lines.geoms]
    found = [_steps(np.vstack([p, p[:1]]) if closed else p, grid) for p, closed in read]
    wanted = [steps for steps in meant if len(steps) > 1]
    return len(wanted) == len(found) and all(map(np.array_equal, wanted, found))


def _keys(rings: Sequence[Points], grid: float) -> list[bytes]:
    """Each ring in steps of the grid, without repeated points, from its topmost vertex on."""
    if not rings:
        return []
    steps = _on_grid(np.concatenate(rings), grid)
    ring = np.repeat(np.arange(len(rings)), [len(points) for points in rings])
    moved = np.any(steps != steps[_before(ring)], axis=1)
    begins = np.searchsorted(ring[moved], np.arange(len(rings) + 1))
    turned = start_at_topmost(steps[moved], ring[moved])
    return [turned[a:b].tobytes() for a, b in pairwise(begins.tolist())]


def _before(ring: Indices) -> Indices:
    """For each vertex the one before it on its ring."""
    begins = np.flatnonzero(np.diff(ring, prepend=-1))
    before = np.arange(len(ring)) - 1
    before[begins] = np.append(begins[1:], len(ring)) - 1
    return before


def _steps(points: Points, grid: float) -> Integers:
    """Whole steps of the grid, without repeated points."""
    steps = _on_grid(points, grid)
    moved = np.any(np.diff(steps, axis=0) != 0, axis=1)
    return steps[np.concatenate([[True], moved])]


def _on_grid(points: Points, grid: float) -> Integers:
    return np.rint(points * round(1 / grid)).astype(np.int64)
