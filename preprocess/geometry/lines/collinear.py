"""Collinear overlaps: stretches of lines along earlier lines, or back over themselves."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import shapely

from preprocess.geometry.base.intersecting_pairs import intersecting_pairs
from preprocess.geometry.base.normalise import NO_LINES
from preprocess.geometry.base.ranges import expand_ranges
from preprocess.geometry.overlay.shared_edges import SNAP_DISTANCE

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import LineString
    from shapely.geometry.base import BaseGeometry

    from preprocess.arrays import Geometries


_LEAST = 20.0
"""Stretches shorter than this many tolerances stay: most are crossings."""

_TOUCHING = 1e-7
_SHORTEST = 0.05
"""mm; no stretch shorter than this is taken, however small the tolerance."""
_EDGE = 2


class Remainder(NamedTuple):
    """Rest of one line, and the lines that it ran along, by number, with the length lost (mm).

    A line that runs back over itself is among them with its own number.
    """

    lines: tuple[LineString, ...]
    along: dict[int, float]


def remove_collinear(lines: Sequence[LineString], within: float) -> dict[int, Remainder]:
    """Remove what runs along an earlier line, nowhere farther than `within` (mm) from it.

    What lies on it but for rounding is taken first, and then what lies beside it, so that no gap
    shows where lines that coincide part. Of an earlier line only what is left of it counts. Pieces
    keep the order and direction of their line. Lines that keep all are not among the result.
    """
    given = np.array(lines, dtype=object)
    reach = max(1.01 * within, _TOUCHING)
    least = max(_LEAST * within, _SHORTEST)
    stages = [(r, _pairs(given, least / 2, r)) for r in sorted({min(reach, SNAP_DISTANCE), reach})]
    found: dict[int, Remainder] = {}
    strips: dict[tuple[int, float], BaseGeometry] = {}
    for number in range(len(given)):
        left = _once(given[number], number, least)
        for stage, pairs in stages:
            for other in pairs.get(number, ()):
                if (other, stage) not in strips:
                    strips[other, stage] = _strip(given[other], found.get(other), stage)
                left = _beside(left, strips[other, stage], other, least)
        if left.along:
            found[number] = left
    return found


def _pairs(lines: Geometries, step: float, reach: float) -> dict[int, list[int]]:
    """For each line the earlier ones that it may run along for two steps or more.

    Points that far apart are looked up among all edges, which is much quicker than cutting each
    line by all that it crosses.
    """
    length = shapely.length(lines)
    count = np.ceil(length / step).astype(int)
    line, place = expand_ranges(np.zeros_like(count), count)
    points = shapely.line_interpolate_point(lines[line], (place + 0.5) * step)
    coords, owner = shapely.get_coordinates(lines, return_index=True)
    same = owner[1:] == owner[:-1]
    edges = shapely.linestrings(np.stack((coords[:-1], coords[1:]), axis=1)[same])
    point, edge = intersecting_pairs(points, edges, "dwithin", reach)
    earlier = owner[1:][same][edge]
    before = earlier < line[point]
    hits = np.unique(np.stack((point[before], earlier[before]), axis=1), axis=0)
    both = np.stack((line[hits[:, 0]], hits[:, 1]), axis=1)
    pairs, often = np.unique(both, axis=0, return_counts=True)
    found: dict[int, list[int]] = {}
    for one, other in pairs[often > 1].tolist():
        found.setdefault(one, []).append(other)
    return found


def _strip(line: LineString, left: Remainder | None, reach: float) -> BaseGeometry:
    """All that lies beside what is left of a line."""
    lines = shapely.MultiLineString([line] if left is None else left.lines)
    strip = shapely.buffer(lines, reach, quad_segs=8, cap_style="flat", join_style="round")
    shapely.prepare(strip)
    return strip


def _once(line: LineString, number: int, least: float) -> Remainder:
    """The line without what runs back over itself, but for rounding."""
    if shapely.get_num_coordinates(line) <= _EDGE:
        return Remainder((line,), {})
    noded = shapely.union_all([line], grid_size=2 * SNAP_DISTANCE)
    twice = float(line.length - noded.length)
    if twice < least:
        return Remainder((line,), {})
    return Remainder(_parts(shapely.line_merge(noded)), {number: twice})


def _beside(left: Remainder, strip: BaseGeometry, other: int, least: float) -> Remainder:
    """Rest of the lines once the stretches within a strip are gone."""
    kept: list[LineString] = []
    gone = 0.0
    for line in left.lines:
        inside = np.array(_parts(shapely.intersection(line, strip)), dtype=object)
        inside = np.array(_parts(_merged(inside)), dtype=object) if len(inside) else inside
        long = shapely.length(inside) >= least
        if not long.any():
            kept.append(line)
            continue
        gone += float(shapely.length(inside[long]).sum())
        rest = [*_parts(shapely.difference(line, strip)), *inside[~long]]
        kept += _in_order(_parts(_merged(rest)), line)
    return Remainder(tuple(kept), _with(left.along, other, gone))


def _with(along: dict[int, float], other: int, gone: float) -> dict[int, float]:
    return along | {other: along.get(other, 0.0) + gone} if gone else along


def _merged(lines: Sequence[LineString] | Geometries) -> BaseGeometry:
    if not len(lines):
        return NO_LINES
    return shapely.line_merge(shapely.multilinestrings(list(lines)), directed=True)


def _in_order(pieces: Sequence[LineString], line: LineString) -> list[LineString]:
    """Pieces along the line; crumbs, shorter than rounding explains, are left out."""
    worth = [piece for piece in pieces if piece.length > _TOUCHING]
    starts = [line.project(piece.interpolate(0.5, normalized=True)) for piece in worth]
    return [piece for _, piece in sorted(zip(starts, worth, strict=True), key=lambda pair: pair[0])]


def _parts(geometry: BaseGeometry) -> tuple[LineString, ...]:
    parts = shapely.get_parts(geometry)
    return tuple(parts[(shapely.get_type_id(parts) == 1) & ~shapely.is_empty(parts)])
