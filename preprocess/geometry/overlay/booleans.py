"""Union, difference and intersection; vertices stay where they are.

When GEOS refuses, the same is tried on its grid of 1e-6 mm, and then with Clipper.
"""

from __future__ import annotations

from operator import is_not
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import GEOSException, MultiLineString, MultiPolygon

from preprocess.geometry.base.normalise import as_area, as_lines, polygons_of
from preprocess.geometry.overlay import clipper
from preprocess.geometry.overlay.arrangement import FALLBACK_GRID
from preprocess.geometry.overlay.shared_edges import close_to_others, share_edges

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from shapely.geometry.base import BaseGeometry

    from preprocess.arrays import Geometries


_QUADRANGLE = 5
"""Points of a ring of four corners: too few for a slit."""


def union(areas: Iterable[BaseGeometry]) -> MultiPolygon:
    """Unite valid areas; edges that miss one another by 2e-6 mm or less count as shared.

    That also closes slits within a single area, which its path may have had.
    """
    given = list(areas)
    parts = polygons_of(given)
    shared = parts.copy()
    if len(given) == 1:  # its parts do not overlap, so only those that change can meet
        shared = share_edges(parts)
        close = np.fromiter(map(is_not, shared, parts), bool, len(parts))
    else:
        close = close_to_others(parts) | (shapely.get_num_coordinates(parts) > _QUADRANGLE)
        shared[close] = share_edges(parts[close])
    return as_area([*parts[~close], *_united(polygons_of(shared[close]))])


def difference(a: BaseGeometry, b: BaseGeometry) -> MultiPolygon:
    """What is in `a` and not in `b`."""
    result = _tried(shapely.difference, a, b)
    return clipper.combine_polygons("difference", [a], [b]) if result is None else as_area(result)


def intersection(a: BaseGeometry, b: BaseGeometry) -> MultiPolygon:
    """What is in both; where they only touch there is nothing."""
    result = _tried(shapely.intersection, a, b)
    return clipper.combine_polygons("intersection", [a], [b]) if result is None else as_area(result)


def cut_lines(lines: BaseGeometry, keep: MultiPolygon) -> MultiLineString:
    """The stretches of lines that lie in an area.

    Raises:
        shapely.GEOSException: GEOS refused, also on its grid.
    """
    return as_lines(_lines(shapely.intersection, lines, keep))


def cut_away(lines: BaseGeometry, area: MultiPolygon) -> MultiLineString:
    """The stretches of lines that lie outside an area.

    Raises:
        shapely.GEOSException: GEOS refused, also on its grid.
    """
    return as_lines(_lines(shapely.difference, lines, area))


def _united(parts: Geometries) -> Geometries:
    for unite in (shapely.disjoint_subset_union_all, _on_grid):
        try:
            return polygons_of(unite(parts))
        except GEOSException:
            continue
    return polygons_of(clipper.combine_polygons("union", parts))


def _on_grid(parts: Geometries) -> BaseGeometry:
    return shapely.union_all(parts, grid_size=FALLBACK_GRID)


def _tried(
    operation: Callable[..., BaseGeometry], a: BaseGeometry, b: BaseGeometry
) -> BaseGeometry | None:
    a, b = _meeting(a, b)
    for grid in (None, FALLBACK_GRID):
        try:
            return operation(a, b, grid_size=grid)
        except GEOSException:
            continue
    return None


def _meeting(a: BaseGeometry, b: BaseGeometry) -> tuple[BaseGeometry, BaseGeometry]:
    """Both with shared edges where they nearly agree, `a` with its vertices where they are."""
    first, second = polygons_of(a), polygons_of(b)
    parts = np.concatenate((first, second))
    close = close_to_others(parts)
    parts[close] = share_edges(parts[close])
    return as_area(parts[: len(first)]), as_area(parts[len(first) :])


def _lines(
    operation: Callable[..., BaseGeometry], lines: BaseGeometry, area: MultiPolygon
) -> BaseGeometry:
    try:
        return operation(lines, area)
    except GEOSException:
        return operation(lines, area, grid_size=FALLBACK_GRID)
