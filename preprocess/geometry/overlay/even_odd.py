"""Crossing contours recovered from the area that they paint by the even-odd rule.

Where two strokes of one path overlap, that rule leaves their overlap blank: the area touches itself
in the points where the contours cross. Followed straight on through these points, its outline gives
back the contours as they were drawn.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import shapely

from preprocess.geometry.base.connected import component_members
from preprocess.geometry.base.intersecting_pairs import intersecting_pairs
from preprocess.geometry.base.normalise import as_area, as_lines
from preprocess.geometry.overlay.arrangement import fill_contours

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from shapely import MultiLineString, MultiPolygon

    from preprocess.arrays import Floats, Geometries, Indices

    End = tuple[int, int]

_STRAIGHT = 20.0
"""A line that turns by more degrees than this in a point does not run on through it."""

_NEAR = 1e-4
"""mm: what comes closer to a rim than the written grid lies on it."""


class _End(NamedTuple):
    """One end of a stretch of outline: stretch and side (0 where it begins), and its direction."""

    name: End
    angle: float


def fill_crossing_gaps(area: MultiPolygon) -> MultiPolygon:
    """Fill what the contours of an area leave blank only because they cross there.

    Holes that cross nothing stay holes. The very same object where no contours cross.
    """
    outlines = shapely.get_rings(shapely.get_parts(area))
    rings = [shapely.get_coordinates(ring)[:-1] for ring in outlines]
    crossings = _crossings(rings)
    if not crossings:
        return area
    contours = _traced(rings, crossings)
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
    """Whether a stretch lies inside an area and not only on its rim."""
    inner = shapely.buffer(area, -_NEAR, quad_segs=2)
    return bool(shapely.length(shapely.intersection(_segments(lines), inner)).any())


def _segments(lines: Geometries) -> Geometries:
    points, owner = shapely.get_coordinates(lines, return_index=True)
    joined = owner[1:] == owner[:-1]
    return shapely.linestrings(np.stack([points[:-1][joined], points[1:][joined]], axis=1))


def _traced(rings: Sequence[Floats], crossings: set[tuple[float, float]]) -> list[Floats]:
    stretches, whole = _stretches(rings, crossings)
    onward = dict(_pairs(stretches, crossings))
    left = dict.fromkeys((number, side) for number in range(len(stretches)) for side in (0, 1))
    found = list(whole)
    while left:
        found.append(_followed(next(iter(left)), stretches, onward, left))
    return found


def _crossings(rings: Sequence[Floats]) -> set[tuple[float, float]]:
    """Points that are passed twice or more, all ways straight through."""
    if not rings:
        return set()
    every = np.concatenate(rings)
    places, count = np.unique(every, axis=0, return_counts=True)
    several = set(map(tuple, places[count > 1].tolist()))
    ways: dict[tuple[float, float], list[float]] = {place: [] for place in several}
    for ring in rings:
        for i in _visits(ring, several):
            here = ring[i]
            for there in (ring[i - 1], ring[(i + 1) % len(ring)]):
                ways[tuple(here.tolist())].append(float(np.arctan2(*(there - here)[::-1])))
    return {place for place, angles in ways.items() if _straight(sorted(angles))}


def _visits(ring: Floats, places: set[tuple[float, float]]) -> list[int]:
    return [i for i, place in enumerate(map(tuple, ring.tolist())) if place in places]


def _straight(angles: list[float]) -> bool:
    """Whether each way has another straight opposite, by the order of their directions."""
    half = len(angles) // 2
    turns = np.array(angles[half:]) - np.array(angles[:half]) - np.pi
    return bool(np.abs(turns).max() <= np.radians(_STRAIGHT))


def _stretches(
    rings: Sequence[Floats], crossings: set[tuple[float, float]]
) -> tuple[list[Floats], list[Floats]]:
    """Outlines between crossings, and the rings that have none."""
    stretches: list[Floats] = []
    whole: list[Floats] = []
    for ring in rings:
        visits = _visits(ring, crossings)
        if not visits:
            whole.append(ring)
            continue
        turned = np.roll(ring, -visits[0], axis=0)
        cuts = [i - visits[0] for i in visits] + [len(ring)]
        closed = np.vstack((turned, turned[:1]))
        stretches += [
            closed[a : b + 1]
            for a, b in zip(cuts[:-1], cuts[1:], strict=True)  # noqa: RUF007
        ]
    return stretches, whole


def _pairs(
    stretches: Sequence[Floats], crossings: set[tuple[float, float]]
) -> Iterator[tuple[End, End]]:
    """For each end of a stretch the end that it runs on with."""
    ends: dict[tuple[float, float], list[_End]] = {place: [] for place in crossings}
    for number, points in enumerate(stretches):
        for side, (here, there) in enumerate(((points[0], points[1]), (points[-1], points[-2]))):
            angle = float(np.arctan2(*(there - here)[::-1]))
            ends[tuple(here.tolist())].append(_End((number, side), angle))
    for mine in ends.values():
        mine.sort(key=lambda end: end.angle)
        half = len(mine) // 2
        for one, other in zip(mine[:half], mine[half:], strict=True):
            yield one.name, other.name
            yield other.name, one.name


def _followed(
    start: End, stretches: Sequence[Floats], onward: dict[End, End], left: dict[End, None]
) -> Floats:
    points: list[Floats] = []
    end = start
    while end in left:
        number, side = end
        del left[number, 0], left[number, 1]
        points.append(stretches[number][:: -1 if side else 1][:-1])
        end = onward[number, 1 - side]
    return np.concatenate(points)
