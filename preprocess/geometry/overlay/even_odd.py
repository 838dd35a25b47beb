"""Crossing contours recovered from the area that they paint by the even-odd rule.

Where two strokes of one path overlap, that rule leaves their overlap blank: the area touches itself
in the points where the contours cross. Followed straight on through these points, its outline gives
back the contours as they were drawn.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.geometry.base.connected import component_members
from preprocess.geometry.base.intersecting_pairs import intersecting_pairs
from preprocess.geometry.base.normalise import as_area, as_lines
from preprocess.geometry.overlay.arrangement import fill_contours

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import MultiLineString, MultiPolygon

    from preprocess.arrays import Floats, Geometries, Indices

    Way = tuple[int, int]

_STRAIGHT = 20.0
"""A line that turns by more degrees than this in a point does not run on through it."""

_NEAR = 1e-4
"""mm: what comes closer to a rim than the written grid lies on it."""


def fill_crossing_gaps(area: MultiPolygon) -> MultiPolygon:
    """Fill what the contours of an area leave blank only because they cross there.

    Holes that cross nothing stay holes. The very same object where no contours cross.
    """
    if area.is_empty:
        return area
    outlines = shapely.get_rings(shapely.get_parts(area))
    rings = [shapely.get_coordinates(ring)[:-1] for ring in outlines]
    points = np.concatenate(rings)
    onward = _onward(rings, points)
    if not onward:
        return area
    contours = _traced(rings, points, onward)
    return as_area(shapely.union_all([area, union_of_outlines(contours)]))


def union_of_outlines(contours: Sequence[Floats]) -> MultiPolygon:
    """Union of what contours (n × 2 each, implicitly closed) paint as separate outlines.

    A contour that lies inside another and crosses it nowhere is a hole, one inside a hole is not.
    """
    fills = [fill_contours([contour], "nonzero") for contour in contours]
    fills = sorted((fill for fill in fills if not fill.is_empty), key=lambda fill: -fill.area)
    if not fills:
        return as_area([])
    around: list[list[int]] = [[] for _ in fills]
    every = np.array(fills, dtype=object)
    inner, outer = intersecting_pairs(every, every, "covered_by")
    for small, large in zip(inner.tolist(), outer.tolist(), strict=True):
        if large < small:  # equal ones: the later lies in the earlier
            around[small].append(large)
    solid = [number for number, others in enumerate(around) if len(others) % 2 == 0]
    holes: dict[int, list[MultiPolygon]] = {number: [] for number in solid}
    for number, others in enumerate(around):
        if len(others) % 2:
            holes[max(set(others) & set(solid))].append(fills[number])
    pieces = [
        shapely.difference(fills[number], shapely.union_all(mine)) if mine else fills[number]
        for number, mine in holes.items()
    ]
    return as_area(shapely.union_all(pieces))


def crossing_rings(lines: Geometries) -> list[tuple[Indices, MultiLineString]]:
    """Groups of rings that run inside what they enclose, by their numbers, and what stays of them.

    That is the outline of what they enclose, and stretches that enclose nothing: spurs, and rings
    that run back along themselves. Open lines and rings that cross nothing are in no group.
    """
    closed = np.flatnonzero(shapely.is_closed(lines))
    fills = np.array(
        [fill_contours([shapely.get_coordinates(line)[:-1]], "nonzero") for line in lines[closed]],
        dtype=object,
    )
    one, two = intersecting_pairs(fills, fills, "overlaps")
    found = []
    for members in component_members(len(fills), one, two):
        mine = closed[members]
        if len(mine) > 1 or not shapely.is_simple(lines[mine[0]]):
            area = union_of_outlines([shapely.get_coordinates(line)[:-1] for line in lines[mine]])
            kept = as_lines([*_rims(area), *_spurs(lines[mine], area)])
            if len(mine) > 1 or _run_within(lines[mine], area):
                found.append((mine, kept))
    return found


def _rims(area: MultiPolygon) -> Geometries:
    return shapely.boundary(shapely.get_parts(area))


def _spurs(lines: Geometries, area: MultiPolygon) -> Geometries:
    """Stretches that lie neither in an area nor on its rim, as often as they are drawn."""
    away = shapely.difference(_segments(lines), shapely.buffer(area, _NEAR, quad_segs=2))
    return shapely.get_parts(as_lines(away))


def _run_within(lines: Geometries, area: MultiPolygon) -> bool:
    """Test whether a stretch lies inside an area and not only on its rim."""
    inner = shapely.buffer(area, -_NEAR, quad_segs=2)
    return bool(shapely.length(shapely.intersection(_segments(lines), inner)).any())


def _segments(lines: Geometries) -> Geometries:
    points, owner = shapely.get_coordinates(lines, return_index=True)
    joined = owner[1:] == owner[:-1]
    return shapely.linestrings(np.stack([points[:-1][joined], points[1:][joined]], axis=1))


def _onward(rings: Sequence[Floats], points: Floats) -> dict[Way, Way]:
    """For each way out of a crossing the one that it runs straight on with.

    A crossing is passed twice or more, all ways straight through.
    """
    _, place, count = np.unique(points, axis=0, return_inverse=True, return_counts=True)
    before, after = _neighbours(rings)
    ways: dict[int, list[tuple[float, Way]]] = {}
    for here in np.flatnonzero(count[place] > 1).tolist():
        for there in (before[here], after[here]):
            angle = float(np.arctan2(*(points[there] - points[here])[::-1]))
            ways.setdefault(place[here], []).append((angle, (here, there)))
    onward: dict[Way, Way] = {}
    for mine in map(sorted, ways.values()):
        half = len(mine) // 2
        pairs = list(zip(mine[:half], mine[half:], strict=True))
        if all(abs(two - one - np.pi) <= np.radians(_STRAIGHT) for (one, _), (two, _) in pairs):
            onward |= {one: two for (_, one), (_, two) in pairs}
            onward |= {two: one for (_, one), (_, two) in pairs}
    return onward


def _neighbours(rings: Sequence[Floats]) -> tuple[list[int], list[int]]:
    """Number of the point before and of the point after each point of all rings."""
    numbers = np.split(np.arange(sum(map(len, rings))), np.cumsum([len(r) for r in rings])[:-1])
    before, after = (np.concatenate([np.roll(own, by) for own in numbers]) for by in (1, -1))
    return before.tolist(), after.tolist()


def _traced(rings: Sequence[Floats], points: Floats, onward: dict[Way, Way]) -> list[Floats]:
    """Rings that cross nothing, and contours that run straight on through the crossings."""
    before, after = _neighbours(rings)
    ring = np.repeat(np.arange(len(rings)), [len(one) for one in rings])
    crossing = sorted({here for here, _ in onward})
    found = [rings[number] for number in sorted({*range(len(rings))} - {*ring[crossing].tolist()})]
    gone: set[Way] = set()
    for start in crossing:
        way, passed = (start, after[start]), []
        while way not in gone:
            gone.add(way)
            here, there = way
            passed.append(here)
            while (there, here) not in onward:
                passed.append(there)
                here, there = there, before[there] + after[there] - here
            gone.add((there, here))
            way = onward[there, here]
        if passed:
            found.append(points[passed])
    return found
