"""Topmost areas, where areas were painted over one another."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import GEOSException, MultiPolygon

from preprocess.geometry.base.normalise import NOTHING, as_area, as_lines, polygons_of
from preprocess.geometry.overlay.booleans import difference, union
from preprocess.geometry.overlay.components import components
from preprocess.geometry.overlay.owners import areas_under
from preprocess.geometry.overlay.partition import partition_area
from preprocess.geometry.overlay.shared_edges import close_to_others, share_edges

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from shapely import Polygon

    from preprocess.arrays import Floats, Geometries, Indices


def divide_by_topmost(
    area: MultiPolygon, painted: Sequence[MultiPolygon], groups: Sequence[int]
) -> dict[int, MultiPolygon]:
    """Divide an area among groups of what was painted; the pieces tile it exactly.

    What lies under nothing painted goes to the group that is nearest.

    Args:
        area: in mm.
        painted: valid areas in order of painting, none of them empty.
        groups: the group of each of them.

    Returns:
        Group to its area, in ascending order; groups that are covered by others are left out.
    """
    alone: dict[int, list[Polygon]] = {}
    shared: list[Polygon] = []
    parts = components(area)
    for part, mine in zip(parts, areas_under(parts, painted), strict=True):
        theirs = {groups[index] for index in mine}
        if len(theirs) == 1:
            alone.setdefault(theirs.pop(), []).append(part)
        else:
            shared.append(part)
    divided = _divided(MultiPolygon(shared), painted, groups)
    return {
        group: as_area([*alone.get(group, ()), *shapely.get_parts(divided.get(group))])
        for group in sorted({*alone, *divided})
    }


def _divided(
    area: MultiPolygon, painted: Sequence[MultiPolygon], groups: Sequence[int]
) -> dict[int, MultiPolygon]:
    if area.is_empty:
        return {}
    tree = shapely.STRtree(painted)
    belongs = np.array(groups)

    def classify(points: Floats) -> Indices:
        spots = shapely.points(points)
        top = tree.nearest(spots)
        bare = np.full(len(spots), -1)
        spot, under = tree.query(spots, predicate="intersects")
        np.maximum.at(bare, spot, under)
        return belongs[np.where(bare < 0, top, bare)]

    near = tree.query(shapely.get_parts(area), predicate="intersects")[1]
    edges = shapely.boundary(tree.geometries[np.unique(near)])
    return partition_area(area, as_lines(edges), classify)


def topmost_white(areas: Sequence[MultiPolygon], white: Sequence[bool]) -> MultiPolygon:
    """The area whose last paint is white.

    Neighbours are joined two by two, all pairs at once, so that the time grows as n log n.

    Args:
        areas: valid areas in mm in the order of painting.
        white: whether each of them is white; the others are black.
    """
    if not areas:
        return NOTHING
    painted, is_white = _with_shared_edges(areas), np.array(white, bool)
    whites = np.where(is_white, painted, NOTHING)
    blacks = np.where(is_white, NOTHING, painted)
    while len(whites) > 1:
        if len(whites) % 2:
            whites, blacks = np.append(whites, [NOTHING]), np.append(blacks, [NOTHING])
        below, above = (whites[::2], blacks[::2]), (whites[1::2], blacks[1::2])
        whites = _either(_without(below[0], above[1]), above[0])
        blacks = _either(_without(below[1], above[0]), above[1])
    return union(whites)


def _with_shared_edges(areas: Sequence[MultiPolygon]) -> Geometries:
    """The areas with shared edges where they nearly agree."""
    parts = polygons_of(areas)
    close = close_to_others(parts)
    parts[close] = share_edges(parts[close])
    ends = np.cumsum([len(area.geoms) for area in areas])
    found = np.empty(len(areas), object)
    found[:] = [as_area(held) for held in np.split(parts, ends[:-1])]
    return found


def _without(first: Geometries, second: Geometries) -> Geometries:
    return _pairwise(shapely.difference, difference, first, second)


def _either(first: Geometries, second: Geometries) -> Geometries:
    return _pairwise(shapely.union, lambda a, b: union((a, b)), first, second)


def _pairwise(
    together: Callable[..., Geometries],
    one: Callable[[MultiPolygon, MultiPolygon], MultiPolygon],
    first: Geometries,
    second: Geometries,
) -> Geometries:
    """One operation on all pairs at once, or on one after the other where GEOS refuses."""
    try:
        return together(first, second)
    except GEOSException:
        found = np.empty(len(first), object)
        found[:] = [one(as_area(a), as_area(b)) for a, b in zip(first, second, strict=True)]
        return found
