"""Layers of areas as one closed mesh.

All edges of all layers are noded once; each face of the arrangement is solid or not in each layer.
A face gives a lid where solid begins or ends, an edge a wall where it parts solid from air.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import MultiPolygon

from preprocess.geometry.base.normalise import as_area
from preprocess.geometry.overlay.booleans import difference, union

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from preprocess.arrays import Booleans, Floats, Geometries, Indices, Points

_GRID = 1e-3
"""mm to which corners are rounded: a tenth of what a printer can do."""

_DUST = 1e-9
_PINCH = 0.05
"""mm cut away on each side of a corner at which two pieces of a layer only touch."""

_MOST_ROUNDS = 12


@dataclass(frozen=True, slots=True)
class SolidLayer:
    """One layer: from one height to the next, mm, and the area that is solid."""

    low: float
    high: float
    area: MultiPolygon


def layers_mesh(layers: Sequence[SolidLayer]) -> Floats:
    """The closed mesh of layers that lie on one another without gaps, n × 3 × 3, facing outward.

    No edge belongs to more than two triangles: corners at which pieces of a layer would only touch
    are cut away, and so is the smaller of two pieces that would touch along an edge from layer to
    layer.

    Args:
        layers: from below.
    """
    held = [_snapped(layer.area) for layer in layers]
    for _ in range(_MOST_ROUNDS):
        faces = _faces(held)
        edges = _edges(faces)
        solid = _without_touching_edges(_solid(held, faces), faces, edges)
        pinches = _pinches(solid, edges)
        if not len(pinches):
            break
        held = [_snapped(difference(area, _around(pinches))) for area in held]
    heights = [layers[0].low, *(layer.high for layer in layers)]
    found = [*_lids(faces, solid, heights), *_walls(solid, edges, heights)]
    return np.concatenate(found) if found else np.zeros((0, 3, 3))


def _around(points: Points) -> MultiPolygon:
    (x, y), r = points.T, _PINCH
    return union(shapely.box(x - r, y - r, x + r, y + r))


def _snapped(area: MultiPolygon) -> MultiPolygon:
    return as_area(shapely.set_precision(area, _GRID))


def _faces(areas: Sequence[MultiPolygon]) -> Geometries:
    lines = shapely.union_all([area.boundary for area in areas], grid_size=_GRID)
    faces = shapely.get_parts(shapely.polygonize([lines]))
    return shapely.orient_polygons(faces[shapely.area(faces) > _DUST])


def _solid(areas: Sequence[MultiPolygon], faces: Geometries) -> Booleans:
    """Which faces are solid, layer by face."""
    inner = shapely.point_on_surface(faces)
    shapely.prepare(areas)
    return np.array([shapely.contains(area, inner) for area in areas])


def _without_touching_edges(solid: Booleans, faces: Geometries, edges: _Edges) -> Booleans:
    """Faces that touch along an edge, one below and the other above: the smaller is left out."""
    found = solid.copy()
    shared = edges.right >= 0
    left, right = edges.left[shared], edges.right[shared]
    size = shapely.area(faces)
    for _ in range(_MOST_ROUNDS):
        low, high = found[:-1], found[1:]
        layer, edge = np.nonzero(low[:, left] & ~low[:, right] & ~high[:, left] & high[:, right])
        if not len(layer):
            break
        lower_goes = size[left[edge]] < size[right[edge]]
        found[layer[lower_goes], left[edge][lower_goes]] = False
        found[layer[~lower_goes] + 1, right[edge][~lower_goes]] = False
    return found


def _pinches(solid: Booleans, edges: _Edges) -> Points:
    """Corners from which more than one edge of a layer's outline leaves."""
    found = []
    for row in solid:
        corners, count = np.unique(edges.start[edges.walls(row)], axis=0, return_counts=True)
        found.append(corners[count > 1])
    return np.unique(np.concatenate(found), axis=0)


@dataclass(frozen=True, slots=True, eq=False)
class _Edges:
    """Half-edges: start and stop, the face on the left and that on the right, -1 for none."""

    start: Points
    stop: Points
    left: Indices
    right: Indices

    def walls(self, row: Booleans) -> Booleans:
        """Edges with solid on their left and air on their right, in a layer."""
        return row[self.left] & ~(row[self.right] & (self.right >= 0))


def _edges(faces: Geometries) -> _Edges:
    rings, owner = shapely.get_rings(faces, return_index=True)
    points, ring = shapely.get_coordinates(rings, return_index=True)
    inner = ring[1:] == ring[:-1]
    start, stop = points[:-1][inner], points[1:][inner]
    left = owner[ring[:-1][inner]]
    there = dict(zip(map(tuple, np.hstack((start, stop)).tolist()), left.tolist(), strict=True))
    back = [there.get(edge, -1) for edge in map(tuple, np.hstack((stop, start)).tolist())]
    return _Edges(start, stop, left, np.array(back, dtype=np.intp))


def _lids(faces: Geometries, solid: Booleans, heights: list[float]) -> Iterator[Floats]:
    """Triangles of each face where solid ends above it, and where it begins."""
    air = np.zeros((1, len(faces)), bool)
    stack = np.vstack([air, solid, air])
    for number, face in enumerate(faces):
        changes = np.flatnonzero(stack[1:, number] != stack[:-1, number])
        if not len(changes):
            continue
        flat = _triangles(face)
        for level in changes.tolist():
            lid = np.dstack([flat, np.full(flat.shape[:2], heights[level])])
            yield lid if stack[level, number] else lid[:, ::-1]


def _triangles(face: shapely.Polygon) -> Floats:
    """A face as triangles, counter-clockwise, n × 3 × 2."""
    parts = shapely.get_parts(shapely.constrained_delaunay_triangles(face))
    flat = shapely.get_coordinates(parts).reshape(-1, 4, 2)[:, :3]
    one, two = flat[:, 1] - flat[:, 0], flat[:, 2] - flat[:, 0]
    clockwise = one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0] < 0
    flat[clockwise] = flat[clockwise, ::-1]
    return flat


def _walls(solid: Booleans, edges: _Edges, heights: list[float]) -> Iterator[Floats]:
    """Two triangles to each edge and layer with solid on its left and air on its right."""
    for row, low, high in zip(solid, heights[:-1], heights[1:], strict=True):
        wall = edges.walls(row)
        p, q = edges.start[wall], edges.stop[wall]
        a, b, c, d = (
            np.column_stack((point, np.full(len(point), height)))
            for point, height in ((p, low), (q, low), (q, high), (p, high))
        )
        yield np.stack([a, b, c], axis=1)
        yield np.stack([a, c, d], axis=1)
