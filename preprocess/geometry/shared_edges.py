"""Areas whose edges should coincide but miss one another by a rounding.

Turned tiles that meet in a T have a corner up to 1e-6 mm off the edge it should lie on. Their
union then keeps slits that no eye sees and that a laser would mark round; worse, GEOS has been
seen to lose a whole tile over it, without an error.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import shapely

from preprocess.geometry.faces import filled
from preprocess.geometry.near import close_boxes

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Ints = NDArray[np.intp]
    Geometries = NDArray[np.object_]

WITHIN = 2e-6
"""How far a vertex may lie from an edge, in mm, and still be meant to lie on it."""


class _Edges(NamedTuple):
    """Edges of rings that follow one another: edge i runs from vertex i to vertex `after[i]`."""

    vertices: Floats
    after: Ints
    ring: Ints
    part: Ints


def share_edges(parts: Geometries, within: float = WITHIN) -> Geometries:
    """Move vertices onto vertices, and edges onto vertices, that they miss by `within` or less.

    Args:
        parts: valid polygons; they may overlap.
        within: in mm; nothing moves farther.

    Returns:
        As many valid areas, in the same order; those that nothing comes close to are unchanged.
        Of vertices that nearly coincide, those of earlier parts stay.
    """
    result = parts.copy()
    crowded = _crowded(parts, within)
    if not crowded.any():
        return result
    result[crowded] = _shared(parts[crowded], within)
    return result


def _crowded(parts: Geometries, within: float) -> NDArray[np.bool_]:
    """Which parts have boxes that come close to another's box."""
    left, top, right, bottom = shapely.bounds(parts).T
    boxes = shapely.box(left - within, top - within, right + within, bottom + within)
    one, two = shapely.STRtree(boxes).query(boxes)
    crowded = np.zeros(len(parts), dtype=bool)
    crowded[one[one != two]] = True
    return crowded


def _shared(parts: Geometries, within: float) -> Geometries:
    edges = _edges(parts)
    near = _near(edges, within)
    touched = np.unique(edges.part[np.concatenate(near)])
    moved = _on_vertices(edges, near, within)
    result = parts.copy()
    rings = _through_vertices(moved, touched, within)
    for part in touched:
        result[part] = _area(rings[part])
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


def _near(edges: _Edges, within: float) -> tuple[Ints, Ints]:
    """Pairs (edge, vertex) closer than `within` where the vertex is no end of the edge."""
    start, end = edges.vertices, edges.vertices[edges.after]
    edge, point = close_boxes(start, end, edges.vertices, within)
    at, a, b = edges.vertices[point], start[edge], end[edge]
    strange = (at != a).any(axis=1) & (at != b).any(axis=1)
    edge, point, at, a, b = (v[strange] for v in (edge, point, at, a, b))
    near = np.hypot(*(at - a - _share(at, a, b)[:, None] * (b - a)).T) <= within
    return edge[near], point[near]


def _share(at: Floats, a: Floats, b: Floats) -> Floats:
    """Where along the edge from a to b the nearest point to `at` lies, 0 … 1."""
    along = b - a
    length = np.einsum("ij,ij->i", along, along)
    return np.clip(np.einsum("ij,ij->i", at - a, along) / np.where(length > 0, length, 1), 0, 1)


def _on_vertices(edges: _Edges, near: tuple[Ints, Ints], within: float) -> _Edges:
    """Let the first of the vertices that nearly coincide take the place of the others."""
    edge, point = near
    one, two = np.tile(point, 2), np.concatenate((edge, edges.after[edge]))
    close = np.hypot(*(edges.vertices[one] - edges.vertices[two]).T) <= within
    one, two = one[close], two[close]
    best = np.arange(len(edges.vertices))
    np.minimum.at(best, one, two)
    np.minimum.at(best, two, one)
    return edges._replace(vertices=edges.vertices[best])


def _through_vertices(edges: _Edges, touched: Ints, within: float) -> dict[int, list[Floats]]:
    """The rings of the touched parts, each edge led through the vertices that lie beside it."""
    edge, point = _near(edges, within)
    at, a, b = edges.vertices[point], edges.vertices[edge], edges.vertices[edges.after[edge]]
    share = _share(at, a, b)
    order = np.lexsort((share, edge))
    order = order[(share[order] > 0) & (share[order] < 1)]
    places = edge[order] + 1
    vertices = np.insert(edges.vertices, places, at[order], axis=0)
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
    return plain if shapely.is_valid(plain) else filled(rings, "positive")
