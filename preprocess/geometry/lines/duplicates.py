"""Duplicates: lines and areas that lie on one another, and so would be marked twice."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from collections.abc import Iterable

    from shapely.geometry.base import BaseGeometry

    from preprocess.arrays import Booleans, Geometries, Indices


_TOUCHING = 1e-7
"""Points on a line lie on it, and equal lines are equally long, but for rounding, in mm."""


def first_duplicates(shapes: Iterable[BaseGeometry], tolerance: float) -> Indices:
    """Index, for each shape, of the first that it lies on; all lines, or all areas.

    Two shapes lie on one another when the lines or outlines of each are nowhere farther than
    `tolerance` (mm) from those of the other, and neither is longer by more than that explains.
    """
    given = np.array(list(shapes), dtype=object)
    exact = _first_equal(given)
    some = np.flatnonzero(exact == np.arange(len(given)))
    edges = _outlines(given[some])
    one, two = _candidates(edges, tolerance)
    for test in (_vertices_on, _all_on):
        alike = test(edges, one, two, tolerance) & test(edges, two, one, tolerance)
        one, two = one[alike], two[alike]
    kept = np.arange(len(some))
    for i, j in zip(one, two, strict=True):
        if kept[i] == i and kept[j] == j:
            kept[j] = i
    result = np.arange(len(given))
    result[some] = some[kept]
    return result[exact]


def _first_equal(shapes: Geometries) -> Indices:
    """For each shape the first that is equal but for direction and starting point."""
    seen: dict[bytes, int] = {}
    texts = shapely.to_wkb(shapely.normalize(shapes))
    return np.array([seen.setdefault(text, i) for i, text in enumerate(texts)], dtype=np.intp)


def _outlines(shapes: Geometries) -> Geometries:
    areas = shapely.get_dimensions(shapes) == 2  # noqa: PLR2004
    return np.where(areas, shapely.boundary(shapes), shapes)


def _candidates(edges: Geometries, tolerance: float) -> tuple[Indices, Indices]:
    """Pairs i < j, sorted, of shapes with nearly the same box and length."""
    from scipy.spatial import KDTree

    filled = np.flatnonzero(~shapely.is_empty(edges))
    if len(filled) < 2:  # noqa: PLR2004
        return filled[:0], filled[:0]
    tree = KDTree(shapely.bounds(edges[filled]))
    pairs = filled[tree.query_pairs(tolerance, p=np.inf, output_type="ndarray")]
    one, two = np.sort(pairs.reshape(-1, 2), axis=1).T
    length, corners = shapely.length(edges), shapely.get_num_coordinates(edges)
    slack = 2 * tolerance * np.maximum(corners[one], corners[two]) + _TOUCHING
    same = np.abs(length[one] - length[two]) <= slack
    order = np.lexsort((two[same], one[same]))
    return one[same][order], two[same][order]


def _vertices_on(edges: Geometries, one: Indices, two: Indices, tolerance: float) -> Booleans:
    """Test whether all vertices of edges[one] are near edges[two]."""
    shapely.prepare(edges)
    coords, pair = shapely.get_coordinates(edges[one], return_index=True)
    near = shapely.dwithin(edges[two][pair], shapely.points(coords), tolerance)
    far = np.bincount(pair[~near], minlength=len(one))
    return far == 0


def _all_on(edges: Geometries, one: Indices, two: Indices, tolerance: float) -> Booleans:
    """Test whether all of edges[one] is near edges[two]; a Z and its mirror image share vertices.

    The margin is what the flattened ends of the buffer lack of round ones.
    """
    reach = max(1.01 * tolerance, _TOUCHING)
    near = shapely.buffer(edges[two], reach, quad_segs=8)
    return shapely.covered_by(edges[one], near)
