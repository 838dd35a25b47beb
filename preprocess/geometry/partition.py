"""Cut an area along lines into zones that tile it exactly: shared edges agree bit for bit."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import GEOSException, MultiLineString, MultiPolygon

from preprocess.geometry.parts import as_area

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    Classify = Callable[[NDArray[np.float64]], NDArray[np.intp]]

GRIDS = (None, 1e-6)
"""Noding is tried exactly first, then on the grid that coordinates were read on, mm."""


def partition(
    area: MultiPolygon, cuts: MultiLineString, classify: Classify
) -> dict[int, MultiPolygon]:
    """Split an area along cuts and gather the pieces by class; together they are the area.

    Boundaries and cuts are noded once, and the faces between them are classified by a point
    inside each, so no two zones overlap and nothing lies between them. Polygons that no cut
    touches keep their vertices.

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
    touched = _touched(parts, cuts)
    pieces = np.concatenate([parts[~touched], _faces(parts[touched], cuts)])
    classes = classify(shapely.get_coordinates(shapely.point_on_surface(pieces)))
    whole = np.arange(len(pieces)) < int((~touched).sum())
    return {
        int(value): _gathered(
            pieces[(classes == value) & whole], pieces[(classes == value) & ~whole]
        )
        for value in np.unique(classes)
    }


def _touched(parts: NDArray[np.object_], cuts: MultiLineString) -> NDArray[np.bool_]:
    touched = np.zeros(len(parts), dtype=bool)
    tree = shapely.STRtree(parts)
    touched[tree.query(shapely.get_parts(cuts), predicate="intersects")[1]] = True
    return touched


def _faces(parts: NDArray[np.object_], cuts: MultiLineString) -> NDArray[np.object_]:
    """Faces of the parts between the cuts."""
    if not len(parts):
        return parts
    for grid in GRIDS:
        try:
            lines = shapely.union_all([*shapely.boundary(parts), cuts], grid_size=grid)
        except GEOSException:
            if grid is GRIDS[-1]:
                raise
            continue
        break
    faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(lines)))
    inside = shapely.STRtree(parts).query(shapely.point_on_surface(faces), predicate="intersects")
    return faces[np.unique(inside[0])]


def _gathered(whole: NDArray[np.object_], faces: NDArray[np.object_]) -> MultiPolygon:
    if not len(faces):
        return as_area(shapely.multipolygons(list(whole)))
    return as_area([*whole, joined(faces)])


def joined(faces: NDArray[np.object_]) -> MultiPolygon:
    """Faces that share edges bit for bit as one area; GEOS rarely balks at the quick way."""
    try:
        return as_area(shapely.coverage_union_all(faces))
    except GEOSException:
        return as_area(shapely.union_all(faces))
