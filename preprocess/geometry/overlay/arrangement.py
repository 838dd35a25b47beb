"""Area that the contours of one path, which may cross anything, fill by a fill rule.

It consists of faces of their arrangement, chosen by winding number. Winding numbers come from the
raw contours, because noding merges edges that are traced twice. Source of the rules: SVG 1.1,
section 11.3, `fill-rule`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import numpy as np
import shapely
from shapely import GEOSException, MultiPolygon

from preprocess.geometry.base.connected import component_members
from preprocess.geometry.base.normalise import NOTHING, as_area, polygons_of
from preprocess.geometry.base.ranges import expand_ranges
from preprocess.geometry.overlay import clipper

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from shapely.geometry.base import BaseGeometry

    from preprocess.arrays import Booleans, Floats, Geometries, Indices
    from preprocess.geometry.overlay.clipper import WindingRule


FALLBACK_GRID = 1e-6
_FEW = 16
_FEWEST = 3
_MOST_CROSSINGS = 500_000


def fill_contours(contours: Sequence[Floats], rule: Literal["nonzero", "evenodd"]) -> MultiPolygon:
    """Area that the contours of one path fill.

    Args:
        contours: arrays of N x 2 in mm, implicitly closed, rounded to 1e-6 mm.
        rule: SVG's fill rule.

    Returns:
        A valid area. Contours of fewer than three points and those without area give nothing.
    """
    rings = [contour for contour in map(_open, contours) if len(contour) >= _FEWEST]
    if not rings:
        return NOTHING
    if len(rings) == 1:
        single = shapely.polygons(rings[0])
        if shapely.is_valid(single):
            return shapely.multipolygons([single])
    return fill_arrangement(rings, rule)


def fill_single_contours(contours: Sequence[Floats]) -> list[MultiPolygon | None]:
    """Result of `fill_contours` for each contour by itself, or None where that takes longer.

    Contours as there; a thousand small ones are filled in the time of ten.
    """
    found: list[MultiPolygon | None] = [None] * len(contours)
    points = [_open(contour) for contour in contours]
    whole = [number for number, one in enumerate(points) if len(one) >= _FEWEST]
    if not whole:
        return found
    some = [points[number] for number in whole]
    ring = np.repeat(np.arange(len(some)), [len(one) for one in some])
    polygons = shapely.polygons(shapely.linearrings(np.concatenate(some), indices=ring))
    valid = np.flatnonzero(shapely.is_valid(polygons))
    areas = shapely.multipolygons(polygons[valid], indices=np.arange(len(valid)))
    for number, area in zip(valid.tolist(), areas, strict=True):
        found[whole[number]] = area
    return found


def fill_arrangement(contours: Sequence[Floats], rule: WindingRule) -> MultiPolygon:
    """Area that contours (n × 2 each, mm, implicitly closed) fill; they may cross anything.

    Noding by GEOS, first exact, then on a grid of 1e-6 mm; if both fail, Clipper on that grid.
    """
    points, ring = _closed(contours)
    lines = shapely.multilinestrings(shapely.linestrings(points, indices=ring))
    if shapely.is_simple(lines):  # nothing crosses, touches or runs twice
        faces, turns = _faces(lines, points, ring)
        kept = _kept(turns, rule)
        apart = np.abs(turns[kept]).max(initial=0) <= 1  # neighbours differ by one turn
        return as_area(faces[kept] if apart else dissolve_faces(faces[kept]))
    for grid in (None, FALLBACK_GRID):
        try:
            faces, turns = _faces(shapely.union_all([lines], grid_size=grid), points, ring)
            return as_area(dissolve_faces(faces[_kept(turns, rule)]))
        except GEOSException:
            continue
    return clipper.fill_paths(contours, rule)


def _faces(noded: BaseGeometry, points: Floats, ring: Indices) -> tuple[Geometries, Indices]:
    """Faces between lines that only meet at their ends, and the turns of the rings around each."""
    faces = shapely.get_parts(shapely.polygonize([noded]))
    inner = shapely.get_coordinates(shapely.point_on_surface(faces))
    return faces, _winding(inner, points, ring)


def _kept(turns: Indices, rule: WindingRule) -> Booleans:
    kept = {"nonzero": turns != 0, "evenodd": turns % 2 == 1, "positive": turns > 0}
    return turns > 1 if rule == "twice" else kept[rule]


def _winding(places: Floats, points: Floats, ring: Indices) -> Indices:
    """Winding number of all rings together around each of the places (n × 2)."""
    order = np.argsort(places[:, 1], kind="stable")
    x, y = places[order].T.copy()
    total = np.zeros(len(places))
    for (x0, y0, dx, dy), edge, place in _beside(points, ring, y):
        side = dx[edge] * (y[place] - y0[edge]) - (x[place] - x0[edge]) * dy[edge]
        turn = np.sign(dy)[edge]
        total += np.bincount(place, turn * (side * turn > 0), len(total))
    result = np.empty(len(places), dtype=np.intp)
    result[order] = total
    return result


def _beside(
    points: Floats, ring: Indices, heights: Floats
) -> Iterator[tuple[Floats, Indices, Indices]]:
    """Edges as (x, y, dx, dy), and pairs (edge, height) where an edge passes a height.

    They come in portions that fit into memory.
    """
    inner = ring[1:] == ring[:-1]
    edges = np.hstack((points[:-1], np.diff(points, axis=0)))[inner].T.copy()
    passed = np.searchsorted(heights, points[:, 1])
    before, after = passed[:-1][inner], passed[1:][inner]
    first, stop = np.minimum(before, after), np.maximum(before, after)
    portion = np.cumsum(stop - first) // _MOST_CROSSINGS
    for number in range(int(portion[-1]) + 1):
        chosen = (portion == number) & (stop > first)
        edge, height = expand_ranges(first[chosen], stop[chosen])
        yield edges[:, chosen], edge, height


def _open(contour: Floats) -> Floats:
    points = np.asarray(contour, dtype=np.float64).reshape(-1, 2)
    repeated = len(points) > 1 and (points[0] == points[-1]).all()
    return points[:-1] if repeated else points


def _closed(contours: Sequence[Floats]) -> tuple[Floats, Indices]:
    """All points, the first of each contour also after its last, and the contour of each."""
    points = np.concatenate([part for contour in contours for part in (contour, contour[:1])])
    return points, np.repeat(np.arange(len(contours)), [len(c) + 1 for c in contours])


def dissolve_faces(faces: Geometries) -> Geometries:
    """Unite faces that share edges bit for bit and overlap nowhere; order is not kept.

    Only groups of neighbours are handed to GEOS, whose time grows fast with what lies apart.
    """
    if len(faces) < _FEW:
        return polygons_of(shapely.coverage_union_all(faces))
    one, two = _neighbours(faces)
    groups = [faces[members] for members in component_members(len(faces), one, two)]
    try:
        found = [g[0] if len(g) == 1 else shapely.coverage_union_all(g) for g in groups]
    except GEOSException:  # GEOS misjudges groups of slivers whose areas drown in rounding
        found = shapely.coverage_union_all(faces)
    return polygons_of(found)


def _neighbours(faces: Geometries) -> tuple[Indices, Indices]:
    """Pairs of faces with an edge in common; such edges have their midpoints in common."""
    rings, face = shapely.get_rings(faces, return_index=True)
    points, ring = shapely.get_coordinates(rings, return_index=True)
    middle = (points[1:] + points[:-1]).view(np.complex128).ravel()
    owner = face[ring[1:]]
    inner = ring[1:] == ring[:-1]
    middle, owner = middle[inner], owner[inner]
    order = np.argsort(middle, kind="stable")
    same = np.flatnonzero(middle[order[1:]] == middle[order[:-1]])
    return owner[order[same]], owner[order[same + 1]]
