"""Partition of an area along lines into zones that tile it: shared edges agree bit for bit."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import GEOSException, MultiLineString, MultiPolygon

from preprocess.geometry.base.normalise import as_area

if TYPE_CHECKING:
    from collections.abc import Callable

    from preprocess.arrays import Floats, Geometries, Indices

    Classify = Callable[[Floats], Indices]

NODE_GRID = 1e-9
"""Nodes are put on this grid, mm: exact ones can lie so close together that a zone crosses itself
as soon as it is moved."""


def partition_area(
    area: MultiPolygon, cuts: MultiLineString, classify: Classify
) -> dict[int, MultiPolygon]:
    """Partition an area along cuts and gather the pieces by class; together they are the area.

    Boundaries and cuts are noded once, and the faces between them are classified by a point
    inside each, so no two zones overlap and nothing lies between them. Polygons that no cut
    touches keep their vertices; those of the others are rounded to the grid.

    Args:
        area: what to split, valid, in mm.
        cuts: lines; ends that do not reach the boundary or another cut separate nothing.
        classify: class of each of n points (n × 2).

    Returns:
        Class to its area; classes in ascending order, none of them empty.
    """
    parts = shapely.get_parts(area)
    if not len(parts):
        return {}
    touched, lines = _touching(parts, cuts)
    whole = np.ones(len(parts), dtype=bool)
    whole[touched] = False
    faces, owner = _faces(parts[touched], lines)
    pieces = np.concatenate([parts[whole], faces])
    part = np.concatenate([np.flatnonzero(whole), touched[owner]])
    classes = classify(shapely.get_coordinates(shapely.point_on_surface(pieces)))
    return {
        int(value): _gathered(pieces[classes == value], part[classes == value])
        for value in np.unique(classes)
    }


def _touching(parts: Geometries, cuts: MultiLineString) -> tuple[Indices, Geometries]:
    """Parts that a cut touches, and for each of them the cuts that touch it."""
    lines = shapely.get_parts(cuts)
    shapely.prepare(parts)
    part, line = shapely.STRtree(lines).query(parts, predicate="intersects")
    order = np.lexsort((line, part))
    touched, number = np.unique(part[order], return_inverse=True)
    return touched, shapely.multilinestrings(lines[line[order]], indices=number)


def _faces(parts: Geometries, cuts: Geometries) -> tuple[Geometries, Indices]:
    """Faces of each part between its cuts, and of which part each is."""
    both = np.stack((shapely.boundary(parts), cuts), axis=1)
    lines = shapely.union_all(both, grid_size=NODE_GRID, axis=1)
    faces, owner = shapely.get_parts(shapely.polygonize(lines[:, None]), return_index=True)
    inside = shapely.intersects(parts[owner], shapely.point_on_surface(faces))
    return faces[inside], owner[inside]


def _gathered(pieces: Geometries, part: Indices) -> MultiPolygon:
    """Pieces of one class as an area; those of one part may share edges."""
    _, number, count = np.unique(part, return_inverse=True, return_counts=True)
    several = count[number] > 1
    if not several.any():
        return as_area(shapely.multipolygons(pieces))
    return as_area([*pieces[~several], coverage_union(pieces[several])])


def coverage_union(faces: Geometries) -> MultiPolygon:
    """Unite faces that share edges bit for bit; GEOS rarely balks at the quick way."""
    try:
        return as_area(shapely.coverage_union_all(faces))
    except GEOSException:
        return as_area(shapely.union_all(faces))


def longest_neighbour(parts: Geometries, tree: shapely.STRtree, index: int) -> int | None:
    """The part that shares most of its outline with one of them; None where no part does."""
    beside = [i for i in tree.query(parts[index], predicate="intersects").tolist() if i != index]
    shared = shapely.length(shapely.intersection(parts[index], parts[beside]))
    return beside[int(np.argmax(shared))] if shared.max(initial=0.0) > 0 else None
