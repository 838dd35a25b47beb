"""Centre lines of what is too thin for rows: the thin part of an area, and strokes along it.

The local width at a point of the medial axis is twice its distance to the outline. (H. Blum, A
transformation for extracting new descriptors of shape, 1967.)
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.geometry.base.normalise import NOTHING, as_area, as_lines
from preprocess.geometry.medial_axis.hairlines import hairline_edges, prune_spurs, split_at_reach
from preprocess.geometry.medial_axis.strokes import CentreLine, join_strokes
from preprocess.geometry.medial_axis.voronoi import MedialAxis, medial_axis, nearest_on_sides
from preprocess.geometry.offset.opening import are_slivers
from preprocess.geometry.overlay.partition import coverage_union, partition_area

if TYPE_CHECKING:
    from shapely import MultiLineString, MultiPolygon, Polygon

    from preprocess.arrays import Booleans, Floats, Geometries


__all__ = ["CentreLine", "Hairlines", "centre_lines"]

_ROUNDS = 4
"""A cut can leave what is a hairline itself; so often the rest is looked through, at most."""

_BEYOND = 1e-4
"""mm by which a cut is drawn out beyond the outline, so that it surely parts the area."""


@dataclass(frozen=True, slots=True, eq=False)
class Hairlines:
    """An area in two: `rest` is wide enough for rows, `thin` is to be traced along `strokes`.

    Together rest and thin are the area; they share edges where the strokes begin.
    """

    rest: MultiPolygon
    thin: MultiPolygon
    strokes: tuple[CentreLine, ...]


def centre_lines(area: MultiPolygon, width: float, least: float) -> Hairlines:
    """Part an area into what is wider than `width`, and hairlines with their centre lines.

    What rounding left, nowhere wider than 0.2 µm, is no hairline and stays with the rest.

    Args:
        area: valid, mm.
        width: what is at most so wide is thin, mm.
        least: thin stretches shorter than this stay with the rest, mm.
    """
    parts = shapely.get_parts(area)
    slivers = are_slivers(parts)
    whole: list[Polygon] = list(parts[slivers])
    thin: list[MultiPolygon] = []
    found: list[CentreLine] = []
    changed = as_area(list(parts[~slivers])) if whole else area
    for _ in range(_ROUNDS):
        axis = prune_spurs(split_at_reach(medial_axis(changed), width / 2), width)
        chosen = hairline_edges(axis, width, least)
        if not chosen.any():
            break
        found += join_strokes(axis.only(chosen), axis.degree == 1)
        same, changed, gone = _parted(changed, axis, chosen)
        whole += same
        thin.append(gone)
    if not found:
        return Hairlines(area, NOTHING, ())
    return Hairlines(as_area([*whole, changed]), _united(thin), tuple(found))


def _parted(
    area: MultiPolygon, axis: MedialAxis, chosen: Booleans
) -> tuple[list[Polygon], MultiPolygon, MultiPolygon]:
    """Parts without hairlines, what is left of parts with them, and what lies around these."""
    parts = shapely.get_parts(area)
    has, lacks = (_lengths_in(parts, axis.only(mask)) > 0 for mask in (chosen, ~chosen))
    mixed = as_area(list(parts[has & lacks]))
    one_by_one = partition_area(
        mixed, _cuts(mixed, axis, chosen), lambda points: np.arange(len(points))
    )
    faces = shapely.get_parts(np.array(list(one_by_one.values()), dtype=object))
    thin = _lengths_in(faces, axis.only(chosen)) > _lengths_in(faces, axis.only(~chosen))
    gone = as_area([*parts[has & ~lacks], *_whole(faces[thin])])
    return list(parts[~has]), as_area(_whole(faces[~thin])), gone


def _whole(faces: Geometries) -> list[MultiPolygon]:
    if not len(faces):
        return []
    area = coverage_union(faces)
    return [area if area.is_valid else as_area(shapely.union_all(faces))]


def _united(areas: list[MultiPolygon]) -> MultiPolygon:
    """Hairlines of several rounds; they share the edges where one was cut off another."""
    return areas[0] if len(areas) == 1 else as_area(shapely.union_all(areas))


def _lengths_in(parts: Geometries, axis: MedialAxis) -> Floats:
    """Length of an axis in each part, told by the middles of its edges."""
    middles = shapely.points(axis.at[axis.ends].mean(axis=1))
    part, edge = shapely.STRtree(middles).query(parts, predicate="intersects")
    return np.bincount(part, axis.lengths[edge], minlength=len(parts)).astype(np.float64)


def _cuts(area: MultiPolygon, axis: MedialAxis, chosen: Booleans) -> MultiLineString:
    """Straight across the area where hairlines begin, between the nearest points on both sides.

    The axis is that of the outline on a grid, so its points are put back onto the outline itself.
    """
    met = np.zeros(len(axis.at), dtype=bool)
    met[axis.ends[~chosen]] = True
    edge, end = np.nonzero(met[axis.ends] & chosen[:, None])
    across = nearest_on_sides(axis.at[axis.ends[edge, end]], axis.sides[edge])
    across = _on_outline(area, across.reshape(-1, 2)).reshape(-1, 2, 2)
    along = across[:, 1] - across[:, 0]
    length = np.hypot(*along.T)
    across, along = across[length > 0], along[length > 0]
    unit = along / length[length > 0, None] * _BEYOND
    ways = (across[:, 0] - unit, across[:, 0], across[:, 1], across[:, 1] + unit)
    return as_lines(list(shapely.linestrings(np.stack(ways, 1))))


def _on_outline(area: MultiPolygon, points: Floats) -> Floats:
    """The nearest points of the outline."""
    if area.is_empty:
        return points
    found = shapely.shortest_line(shapely.boundary(area), shapely.points(points))
    return shapely.get_coordinates(found)[::2]
