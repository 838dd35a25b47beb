"""Union, difference and intersection; vertices stay where they are.

When GEOS refuses, the same is tried on its grid of 1e-6 mm, and then with Clipper.
"""

from __future__ import annotations

from functools import partial
from operator import is_not
from typing import TYPE_CHECKING, Literal

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

    from preprocess.arrays import Geometries, Indices


_MANY = 8
"""So many parts in one box are looked at together; more of them are mostly near copies."""

_ALIKE = 1e-3
"""mm within which boxes count as the same."""

_QUADRANGLE = 5
"""Points of a ring of four corners: too few for a slit."""


def union(areas: Iterable[BaseGeometry]) -> MultiPolygon:
    """Unite valid areas; edges that miss one another by 2e-6 mm or less count as shared.

    That also closes slits within a single area, which its path may have had.
    """
    given = list(areas)
    parts = _without_near_copies(_without_copies(polygons_of(given)))
    shared = parts.copy()
    if len(given) == 1:  # its parts do not overlap, so only those that change can meet
        shared = share_edges(parts)
        close = np.fromiter(map(is_not, shared, parts), bool, len(parts))
    else:
        close = close_to_others(parts) | (shapely.get_num_coordinates(parts) > _QUADRANGLE)
        shared[close] = share_edges(parts[close])
    return as_area([*parts[~close], *_united(polygons_of(shared[close]))])


def _without_copies(parts: Geometries) -> Geometries:
    """Parts without exact copies of earlier ones: pairs of all their edges would be asked for."""
    if len(parts) < 2:  # noqa: PLR2004 - one has no copy
        return parts
    _, box, count = np.unique(
        shapely.bounds(parts), axis=0, return_inverse=True, return_counts=True
    )
    alike = np.flatnonzero(count[box.ravel()] > 1)
    backwards = alike[::-1]
    first = dict(zip(shapely.to_wkb(parts[backwards]), backwards.tolist(), strict=True))
    kept = np.ones(len(parts), dtype=bool)
    kept[alike] = False
    kept[[*first.values()]] = True
    return parts[kept]


def _without_near_copies(parts: Geometries) -> Geometries:
    """Many parts in almost the same box are united two by two, so that few are asked for pairs."""
    crowds = in_one_box(parts)
    if not crowds:
        return parts
    found = [np.delete(parts, np.concatenate(crowds))]
    for crowd in crowds:
        left = list(parts[crowd])
        while len(left) > 1:
            left = [union(left[n : n + 2]) for n in range(0, len(left), 2)]
        found.append(polygons_of(left))
    return np.concatenate(found)


def in_one_box(parts: Geometries) -> list[Indices]:
    """Numbers of parts whose boxes are the same to a micrometre, where there are many."""
    if len(parts) <= _MANY:
        return []
    boxes = np.round(shapely.bounds(parts) / _ALIKE)
    _, box, count = np.unique(boxes, axis=0, return_inverse=True, return_counts=True)
    return [np.flatnonzero(box.ravel() == which) for which in np.flatnonzero(count > _MANY)]


def difference(a: BaseGeometry, b: BaseGeometry) -> MultiPolygon:
    """Area that is in `a` and not in `b`."""
    return _combined("difference", a, b)


def intersection(a: BaseGeometry, b: BaseGeometry) -> MultiPolygon:
    """Area that is in both; where they only touch there is nothing."""
    return _combined("intersection", a, b)


def cut_lines(lines: BaseGeometry, keep: MultiPolygon) -> MultiLineString:
    """Pieces of lines that lie in an area.

    Raises:
        shapely.GEOSException: GEOS refused, also on its grid.
    """
    return as_lines(_on_grid_if_need_be(shapely.intersection, lines, keep))


def cut_away(lines: BaseGeometry, area: MultiPolygon) -> MultiLineString:
    """Pieces of lines that lie outside an area.

    Raises:
        shapely.GEOSException: GEOS refused, also on its grid.
    """
    return as_lines(_on_grid_if_need_be(shapely.difference, lines, area))


def _combined(
    operation: Literal["difference", "intersection"], a: BaseGeometry, b: BaseGeometry
) -> MultiPolygon:
    try:
        found = _on_grid_if_need_be(getattr(shapely, operation), *_with_shared_edges(a, b))
    except GEOSException:
        return clipper.combine_polygons(operation, [a], [b])
    return as_area(found)


def _united(parts: Geometries) -> Geometries:
    on_grid = partial(shapely.union_all, grid_size=FALLBACK_GRID)
    for unite in (shapely.disjoint_subset_union_all, on_grid):
        try:
            return polygons_of(unite(parts))
        except GEOSException:
            continue
    return polygons_of(clipper.combine_polygons("union", parts))


def _on_grid_if_need_be(
    operation: Callable[..., BaseGeometry], a: BaseGeometry, b: BaseGeometry
) -> BaseGeometry:
    try:
        return operation(a, b, grid_size=None)
    except GEOSException:
        return operation(a, b, grid_size=FALLBACK_GRID)


def _with_shared_edges(a: BaseGeometry, b: BaseGeometry) -> tuple[BaseGeometry, BaseGeometry]:
    """Both with shared edges where they nearly agree, `a` with its vertices where they are."""
    first, second = polygons_of(a), polygons_of(b)
    parts = np.concatenate((first, second))
    close = close_to_others(parts)
    parts[close] = share_edges(parts[close])
    return as_area(parts[: len(first)]), as_area(parts[len(first) :])
