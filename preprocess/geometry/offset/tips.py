"""Tips of an area: ends that narrow below a width, and their inset without a step."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.geometry.base.polylines import edges_by_part, ring_edges
from preprocess.geometry.base.ranges import expand_ranges
from preprocess.geometry.offset.opening import opening_residue, residue_of_parts

if TYPE_CHECKING:
    from collections.abc import Iterator

    from shapely import MultiPolygon, Polygon
    from shapely.geometry.base import BaseGeometry

    from preprocess.arrays import Booleans, Floats, Geometries, Indices
    from preprocess.geometry.offset.opening import Residue


_STEPS = 8
"""Into how many steps the depth of a tip is divided, at least."""

_CORNERS = 24
"""Corners of the polygon that stands for a disc; two of them lie square to the outline."""

_ON_EDGE = 1e-6
"""What lies nearer to an outline than this, mm, lies on it."""


@dataclass(frozen=True, slots=True, eq=False)
class Tip:
    """An end of one part that is narrower than a width.

    `piece` is the tip itself, from its neck on. `outline` holds those of its edges that lie on the
    outline of the part, cut fine (n × 2 × 2);
    `away` how far their ends lie from the neck, where the part is wide enough (n × 2); `apex` is
    the point farthest from the neck.
    """

    part: int
    piece: Polygon
    outline: Floats
    away: Floats
    apex: tuple[float, float]

    @property
    def depth(self) -> float:
        """Distance of the apex from the neck, mm."""
        return float(self.away.max())

    @property
    def width(self) -> float:
        """Mean width, mm: area over half the length of the outline (half the neck of a wedge)."""
        return (
            2
            * float(self.piece.area)
            / float(np.hypot(*(self.outline[:, 1] - self.outline[:, 0]).T).sum())
        )


@dataclass(frozen=True, slots=True, eq=False)
class NarrowPlaces:
    """Narrow places of the parts of an area: tips, and parts that are narrow everywhere."""

    parts: Geometries
    tips: tuple[Tip, ...]
    everywhere: tuple[int, ...]


def find_tips(area: MultiPolygon, width: float) -> NarrowPlaces:
    """Find tips narrower than a width (mm), part by part; a waist between wide places is none."""
    return _found(opening_residue(area, width))


def find_tips_of_parts(parts: Geometries, widths: Floats) -> tuple[Tip, ...]:
    """Find tips of polygons that are narrower than a width given for each, mm."""
    return _found(residue_of_parts(parts, widths, float(widths.max(initial=0.4)) / 400)).tips


def _found(left: Residue) -> NarrowPlaces:
    thin = shapely.is_empty(left.cores)
    tips = [
        _tip(part, piece, edges[free], edges[~free])
        for part, piece, edges, free in piece_outlines(left, ~thin[left.owner])
        if free.any() and _necks(edges, free) == 1
    ]
    return NarrowPlaces(
        parts=left.parts,
        tips=tuple(tip for tip in tips if tip is not None),
        everywhere=tuple(map(int, np.flatnonzero(thin))),
    )


def tip_margin(tip: Tip, by: float) -> BaseGeometry:
    """Margin to take away so that the outline of the tip moves inward.

    The distance grows from 0 at the neck to `by` half way out and stays so up to the apex: the
    union of discs of that radius along the outline. A straight tip of half angle a then retreats
    by / sin a. Nothing beside the tip is touched, however near it passes.
    """
    radii = by * np.minimum(1.0, 2 * tip.away / tip.depth)
    discs = shapely.union_all(_capsules(tip.outline, radii))
    return shapely.intersection(discs, shapely.buffer(tip.piece, 10 * _ON_EDGE, join_style="mitre"))


def piece_outlines(
    left: Residue, wanted: Booleans
) -> Iterator[tuple[int, Polygon, Floats, Booleans]]:
    """Part, piece, its edges (n × 2 × 2, ring after ring) and which of them lie on the outline."""
    some = left.only(wanted)
    edges, piece_of, free = outline_edges(some.pieces, some.parts[np.unique(some.owner)])
    ends = np.cumsum(np.bincount(piece_of, minlength=len(some.pieces)))[:-1]
    both = zip(np.split(edges, ends), np.split(free, ends), strict=True)
    for part, piece, (mine, are_free) in zip(some.owner, some.pieces, both, strict=False):
        yield int(part), piece, mine, are_free


def outline_edges(pieces: Geometries, parts: Geometries) -> tuple[Floats, Indices, Booleans]:
    """Edges of pieces (n × 2 × 2), of which piece each is, and which lie on outlines of parts."""
    edges, piece_of = edges_by_part(pieces)
    free = np.zeros(len(edges), dtype=bool)
    if len(edges):
        tree = shapely.STRtree(shapely.linestrings(ring_edges(parts)))
        middles = shapely.points(edges.mean(axis=1))
        free[tree.query(middles, predicate="dwithin", distance=_ON_EDGE)[0]] = True
    return edges, piece_of, free


def _necks(edges: Floats, free: Booleans) -> int:
    """How many connected runs of edges do not lie on the outline; none where all of them do."""
    if free.all():
        return 0
    neck = shapely.line_merge(shapely.multilinestrings(list(edges[~free])))
    return len(shapely.get_parts(neck))


def _tip(part: int, piece: Polygon, outline: Floats, neck: Floats) -> Tip | None:
    line = shapely.multilinestrings(list(neck))
    reach = float(shapely.distance(shapely.points(outline.reshape(-1, 2)), line).max())
    if reach <= _ON_EDGE:
        return None
    fine = _divided(outline, reach / _STEPS)
    away = shapely.distance(shapely.points(fine), line)
    x, y = fine.reshape(-1, 2)[int(np.argmax(away))]
    return Tip(part=part, piece=piece, outline=fine, away=away, apex=(float(x), float(y)))


def _divided(edges: Floats, step: float) -> Floats:
    """Edges (n × 2 × 2) cut so that none is longer than the step."""
    start, along = edges[:, 0], edges[:, 1] - edges[:, 0]
    count = np.maximum(1, np.ceil(np.hypot(*along.T) / step)).astype(int)
    edge, number = expand_ranges(np.zeros_like(count), count)
    ends = np.stack((number, number + 1), axis=1) / count[edge][:, None]
    return start[edge][:, None, :] + along[edge][:, None, :] * ends[:, :, None]


def _capsules(edges: Floats, radii: Floats) -> Geometries:
    """Convex hulls of two discs each: one around either end of every edge."""
    along = edges[:, 1] - edges[:, 0]
    across = np.arctan2(along[:, 0], -along[:, 1])
    turn = across[:, None] + np.arange(_CORNERS) * (2 * np.pi / _CORNERS)
    rim = np.stack((np.cos(turn), np.sin(turn)), axis=-1)
    points = edges[:, :, None, :] + radii[:, :, None, None] * rim[:, None, :, :]
    return shapely.convex_hull(shapely.linestrings(points.reshape(len(edges), -1, 2)))
