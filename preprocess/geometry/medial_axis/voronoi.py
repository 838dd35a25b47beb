"""The medial axis of an area: where two sides of the outline are equally near, and how near.

Boost's Voronoi diagram of the edges of the outline, exact for whole numbers, here steps of 1e-6 mm.
Its edges inside the area are straight between two edges or two corners, and pieces of a parabola
between an edge and a corner; those are divided until they are straight to half a micrometre.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import pyvoronoi
import shapely

from preprocess.geometry.base.rounding import snap_to_grid
from preprocess.geometry.medial_axis.subdivision import subdivide_edges

if TYPE_CHECKING:
    from collections.abc import Callable

    from shapely import MultiPolygon

    from preprocess.arrays import Booleans, Floats, Integers


_STEPS = 1_000_000
"""Whole numbers to the millimetre; fewer where the area is so large that they would not fit."""

_ON_OUTLINE = 0.5 / _STEPS
"""mm: nodes nearer to the outline than half a step lie on it."""

_MOST = 2.0e9
"""Largest whole number that the diagram takes, nearly."""

_SIDE_BY_SIDE = np.radians(100)
"""Seen from an end of the axis, the outline on either side is at least this far apart."""

_LEVEL = 1e-5
"""mm by which an end may be wider than where it comes from, and still count as a corner."""

_END = 2
"""Number by which the diagram marks a corner at the end of an edge; 1 is its start."""


@dataclass(frozen=True, slots=True, eq=False)
class MedialAxis:
    """Nodes `at` (n × 2, mm) with the distance `reach` (n) to the outline, and edges between them.

    `ends` holds two nodes for each edge (m × 2), `sides` the two pieces of outline that the edge
    lies between (m × 2 × 2 × 2; a corner is a piece without length).
    """

    at: Floats
    reach: Floats
    ends: Integers
    sides: Floats

    @property
    def lengths(self) -> Floats:
        """Length of each edge."""
        return np.hypot(*(self.at[self.ends[:, 1]] - self.at[self.ends[:, 0]]).T)

    @property
    def degree(self) -> Integers:
        """Number of edges that meet in each node."""
        return np.bincount(self.ends.ravel(), minlength=len(self.at))

    def around(self) -> Callable[[int], list[int]]:
        """For a node, the edges that meet there."""
        order = np.argsort(self.ends.ravel(), kind="stable")
        first = np.concatenate(([0], np.cumsum(self.degree))).tolist()
        edges = (order // 2).tolist()
        return lambda node: edges[first[node] : first[node + 1]]

    def only(self, kept: Booleans) -> MedialAxis:
        """The same nodes with some of the edges."""
        return replace(self, ends=self.ends[kept], sides=self.sides[kept])


def medial_axis(area: MultiPolygon) -> MedialAxis:
    """The medial axis without the branches into corners wider than 80 degrees.

    Args:
        area: valid, in mm.
    """
    edges = _edges(area)
    if not len(edges):
        nothing = np.zeros((0, 2))
        return MedialAxis(nothing, np.zeros(0), np.zeros((0, 2), np.int64), np.zeros((0, 2, 2, 2)))
    raw = _diagram(edges, area)
    return subdivide_axis(raw.only(prune_corners(raw)))


def nearest_on_sides(at: Floats, sides: Floats) -> Floats:
    """Nearest points to `at` (n × 2) on both sides (n × 2 × 2 × 2): n × 2 × 2."""
    start, along = sides[:, :, 0], sides[:, :, 1] - sides[:, :, 0]
    square = (along**2).sum(axis=-1)
    share = ((at[:, None] - start) * along).sum(axis=-1) / np.where(square > 0, square, 1.0)
    return start + along * np.clip(share, 0, 1)[..., None]


def separation_angle(at: Floats, sides: Floats) -> Floats:
    """Angle between the nearest points on both sides, seen from `at`, radians."""
    one, two = np.moveaxis(nearest_on_sides(at, sides) - at[:, None], 1, 0)
    cross = one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]
    return np.abs(np.arctan2(cross, (one * two).sum(axis=1)))


def prune_corners(axis: MedialAxis) -> Booleans:
    """Mask of the edges left once ends are taken off as long as they lie in a wide corner.

    Towards a corner the area narrows; the middle of a wide place is an end that stays.
    """
    corner = separation_angle(axis.at[axis.ends].mean(axis=1), axis.sides) < _SIDE_BY_SIDE
    left = np.ones(len(axis.ends), dtype=bool)
    around, reach, ends = axis.around(), axis.reach.tolist(), axis.ends.tolist()
    degree = axis.degree
    loose: list[int] = np.flatnonzero(degree == 1).tolist()
    while loose:
        node = loose.pop()
        for edge in around(node):
            one, two = ends[edge]
            other = two if node == one else one
            if left[edge] and corner[edge] and reach[node] <= reach[other] + _LEVEL:
                left[edge] = False
                degree[node] -= 1
                degree[other] -= 1
                if degree[other] == 1:
                    loose.append(other)
    return left


def subdivide_axis(axis: MedialAxis) -> MedialAxis:
    """Subdivide bent edges, so that straight ones between their nodes do."""
    at, reach, ends, owner = subdivide_edges(axis.at, axis.reach, axis.ends, axis.sides)
    return MedialAxis(at, reach, ends, axis.sides[owner])


def _edges(area: MultiPolygon) -> Floats:
    """All edges of the outline on the grid, n × 2 × 2; they meet in their ends only.

    Whether a corner lies on another edge is asked in whole steps, as the diagram sees it: in mm the
    two may be a rounding apart.
    """
    outline = shapely.boundary(snap_to_grid(area, 6))
    lines = shapely.transform(outline, lambda at: np.rint(at * _STEPS))
    if not shapely.is_simple(lines):
        lines = shapely.union_all(lines, grid_size=1)
    points, line = shapely.get_coordinates(shapely.get_parts(lines), return_index=True)
    points /= _STEPS
    edges = np.stack((points[:-1], points[1:]), axis=1)[line[:-1] == line[1:]]
    return edges[np.any(edges[:, 0] != edges[:, 1], axis=1)]


def _diagram(edges: Floats, area: MultiPolygon) -> MedialAxis:
    middle = np.round((edges.min(axis=(0, 1)) + edges.max(axis=(0, 1))) / 2, 6)
    scale = min(_STEPS, _MOST / max(float(np.abs(edges - middle).max()), 1e-3))
    diagram = pyvoronoi.Pyvoronoi(scale)
    for edge in (edges - middle).tolist():
        diagram.AddSegment(edge)
    diagram.Construct()
    at = np.array([(v.X, v.Y) for v in diagram.GetVertices()]).reshape(-1, 2) + middle
    cells = [(c.site, c.source_category, c.contains_point) for c in diagram.GetCells()]
    site, kind, corner = (np.array(column) for column in zip(*cells, strict=True))
    all_edges = diagram.GetEdges()
    cell = np.array([e.cell for e in all_edges], dtype=np.int64)
    rows = [
        (e.start, e.end, e.cell, e.twin)
        for number, e in enumerate(all_edges)
        if number < e.twin and e.is_primary and e.start >= 0 and e.end >= 0
    ]
    found = np.array(rows, dtype=np.int64).reshape(-1, 4)
    twin = cell[found[:, 3]]
    pieces = _pieces(edges, site, kind, corner)
    sides = np.stack((pieces[found[:, 2]], pieces[twin]), axis=1)
    shapely.prepare(area)
    inside = shapely.contains_xy(area, *at[found[:, :2]].mean(axis=1).T)
    ends, sides = found[inside, :2], sides[inside]
    reach = np.zeros(len(at))
    for end in (0, 1):
        here = at[ends[:, end]]
        reach[ends[:, end]] = np.hypot(*(nearest_on_sides(here, sides)[:, 0] - here).T)
    return _apart_on_outline(MedialAxis(at, reach, ends, sides))


def _apart_on_outline(axis: MedialAxis) -> MedialAxis:
    """Give each edge that ends on the outline an end of its own.

    Several do where outlines touch in a point; each lies in a corner of its own there.
    """
    touching = axis.reach[axis.ends] < _ON_OUTLINE
    ends = axis.ends.copy()
    ends[touching] = np.arange(np.count_nonzero(touching)) + len(axis.at)
    same = axis.ends[touching]
    return MedialAxis(
        at=np.vstack((axis.at, axis.at[same])),
        reach=np.concatenate((axis.reach, axis.reach[same])),
        ends=ends,
        sides=axis.sides,
    )


def _pieces(edges: Floats, site: Integers, kind: Integers, corner: Booleans) -> Floats:
    """The piece of outline of each cell: an edge, or a corner twice."""
    pieces = edges[site].copy()
    start = corner & (kind != _END)
    pieces[start, 1] = pieces[start, 0]
    end = corner & (kind == _END)
    pieces[end, 0] = pieces[end, 1]
    return pieces
