"""Areas whose edges should coincide but miss one another by a rounding.

Turned tiles that meet in a T have a corner up to 1e-6 mm off the edge it should lie on. Their
union then keeps slits that no eye sees and that a laser would mark round; worse, GEOS has been
seen to lose a whole tile over it, without an error.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import shapely

from preprocess.geometry.base.edge_candidates import edge_vertex_candidates
from preprocess.geometry.base.intersecting_pairs import BATCH
from preprocess.geometry.overlay.arrangement import fill_arrangement

if TYPE_CHECKING:
    from preprocess.arrays import Booleans, Floats, Geometries, Indices


SNAP_DISTANCE = 2e-6
"""Largest distance of a vertex from an edge that it is meant to lie on, mm."""


class _Edges(NamedTuple):
    """Edges of rings that follow one another: edge i runs from vertex i to vertex `after[i]`."""

    vertices: Floats
    after: Indices
    ring: Indices
    part: Indices


def close_to_others(parts: Geometries, within: float = SNAP_DISTANCE) -> Booleans:
    """Mask of the parts whose box comes within `within` (mm) of another's box."""
    bounds, same, count = np.unique(
        shapely.bounds(parts).reshape(-1, 4), axis=0, return_inverse=True, return_counts=True
    )
    grown = bounds + np.array((-within, -within, within, within))
    return ((count > 1) | _meet_others(shapely.box(*grown.T)))[same.ravel()]


def _meet_others(boxes: Geometries) -> Booleans:
    """Boxes that meet another, as a mask; settled ones are not asked again: they may be many."""
    tree = shapely.STRtree(boxes)
    found = np.zeros(len(boxes), dtype=bool)
    step = max(1, BATCH // max(1, len(boxes)))
    for begin in range(0, len(boxes), step):
        asked = begin + np.flatnonzero(~found[begin : begin + step])
        one, other = tree.query(boxes[asked])
        apart = asked[one] != other
        found[asked[one[apart]]] = True
        found[other[apart]] = True
    return found


def share_edges(parts: Geometries, within: float = SNAP_DISTANCE) -> Geometries:
    """Move vertices onto vertices, and edges onto vertices, that they miss by `within` or less.

    Args:
        parts: valid polygons; they may overlap.
        within: in mm; nothing moves farther.

    Returns:
        As many valid areas, in the same order; those that nothing comes close to are the very
        same objects. Of vertices that nearly coincide, those of earlier parts stay.
    """
    if not len(parts):
        return parts
    edges = _edges(parts)
    near = _near(edges, within)
    touched = np.unique(edges.part[np.concatenate(near)])
    if not len(touched):
        return parts
    rings = _through_vertices(_on_vertices(edges, near, within), touched, within)
    result = parts.copy()
    result[touched] = [_area(rings[part]) for part in touched.tolist()]
    return result


def _edges(parts: Geometries) -> _Edges:
    rings, part = shapely.get_rings(shapely.orient_polygons(parts), return_index=True)
    coords, ring = shapely.get_coordinates(rings, return_index=True)
    last = np.append(ring[1:] != ring[:-1], [True])
    vertices, ring = coords[~last], ring[~last]
    after = np.arange(1, len(vertices) + 1)
    first = np.flatnonzero(np.diff(ring, prepend=-1))
    after[np.append(first[1:], len(vertices)) - 1] = first
    return _Edges(vertices, after, ring, part[ring])


def _near(edges: _Edges, within: float) -> tuple[Indices, Indices]:
    """Pairs (edge, vertex) closer than `within` where the vertex is at no end of the edge."""
    edge, point = edge_vertex_candidates(edges.vertices, edges.vertices[edges.after], within)
    strange = (point != edge) & (point != edges.after[edge])
    edge, point = edge[strange], point[strange]
    at, start, end = _places(edges, edge, point)
    along, away = end - start, at - start
    off = np.abs(along[0] * away[1] - along[1] * away[0])
    near = off <= within * np.hypot(*along) * (1 + 1e-9)
    edge, point = edge[near], point[near]
    at, start, end = _places(edges, edge, point)
    apart = (at != start).any(axis=0) & (at != end).any(axis=0)
    gap = np.hypot(*(at - start - _share(at, start, end) * (end - start)))
    near = apart & (gap <= within)
    return edge[near], point[near]


def _places(edges: _Edges, edge: Indices, point: Indices) -> tuple[Floats, Floats, Floats]:
    """Points, starts of edges and ends of edges: 2 × n each."""
    x, y = edges.vertices.T.copy()
    after = edges.after[edge]
    at, start, end = ((x[index], y[index]) for index in (point, edge, after))
    return np.stack(at), np.stack(start), np.stack(end)


def _share(at: Floats, start: Floats, end: Floats) -> Floats:
    """Position of the point nearest to `at` along its edge, 0 … 1."""
    along, away = end - start, at - start
    square = (along**2).sum(axis=0)
    return np.clip((along * away).sum(axis=0) / np.where(square > 0, square, 1.0), 0.0, 1.0)


def _on_vertices(edges: _Edges, near: tuple[Indices, Indices], within: float) -> _Edges:
    """Let the first of the vertices that nearly coincide take the place of the others."""
    edge, point = near
    one, two = np.tile(point, 2), np.concatenate((edge, edges.after[edge]))
    close = np.hypot(*(edges.vertices[one] - edges.vertices[two]).T) <= within
    one, two = one[close], two[close]
    first = _first_there(edges.vertices, np.unique(np.concatenate((one, two))))
    best = first.copy()
    np.minimum.at(best, one, first[two])
    np.minimum.at(best, two, first[one])
    return edges._replace(vertices=edges.vertices[best])


def _first_there(vertices: Floats, some: Indices) -> Indices:
    """For each vertex its own number; for those in `some` that of the first at the same place."""
    result = np.arange(len(vertices))
    _, first, place = np.unique(vertices[some], axis=0, return_index=True, return_inverse=True)
    result[some] = some[first[place]]
    return result


def _through_vertices(edges: _Edges, touched: Indices, within: float) -> dict[int, list[Floats]]:
    """The rings of the touched parts, each edge led through the vertices that lie beside it."""
    edge, point = _near(edges, within)
    share = _share(*_places(edges, edge, point))
    order = np.lexsort((share, edge))
    order = order[(share[order] > 0) & (share[order] < 1)]
    places = edge[order] + 1
    vertices = np.insert(edges.vertices, places, edges.vertices[point[order]], axis=0)
    ring = np.insert(edges.ring, places, edges.ring[edge[order]])
    part = np.insert(edges.part, places, edges.part[edge[order]])
    first = np.flatnonzero(np.diff(ring, prepend=-1))
    rings: dict[int, list[Floats]] = {number: [] for number in touched.tolist()}
    for begin, stop in zip(first, np.append(first[1:], len(ring)), strict=True):
        if part[begin] in rings:
            rings[part[begin]].append(vertices[begin:stop])
    return rings


def _area(rings: list[Floats]) -> shapely.Geometry:
    shell, *holes = rings
    plain = shapely.Polygon(shell, holes)
    return plain if shapely.is_valid(plain) else fill_arrangement(rings, "positive")
