"""Solids with exact truth for tests: prisms and cuts by manifold3d, areas by shapely."""

from __future__ import annotations

import manifold3d
import numpy as np
import shapely

PLATE = shapely.box(-26, -11, 26, 11).buffer(4, quad_segs=32)
HOLE = shapely.Point(-24, 0).buffer(2.5, quad_segs=32)
LABEL = PLATE - HOLE
LETTERS = shapely.union_all(
    [
        shapely.box(-10, -5, -8, 5) | shapely.box(-10, -1, -2, 1) | shapely.box(-4, -5, -2, 5),
        shapely.Point(8, 0).buffer(5, quad_segs=16) - shapely.Point(8, 0).buffer(3, quad_segs=16),
    ]
)


def prism(area, low, high):
    rings = [
        np.asarray(ring.coords)[:-1]
        for polygon in shapely.get_parts([area])
        if polygon.geom_type == "Polygon"
        for ring in (polygon.exterior, *polygon.interiors)
    ]
    flat = manifold3d.CrossSection(rings, manifold3d.FillRule.EvenOdd)
    return flat.extrude(high - low).translate((0, 0, low))


def triangles(solid):
    mesh = solid.to_mesh()
    return np.asarray(mesh.vert_properties)[:, :3].astype(float)[np.asarray(mesh.tri_verts)]


def plain():
    return prism(LABEL, 0, 3)


def lettered(low=2.5, high=3.8):
    return plain() + prism(LETTERS, low, high)


def off_by(one, two):
    """The area in which two differ, mm², without slivers that have no width."""
    return shapely.symmetric_difference(one, two).buffer(-1e-4).area
