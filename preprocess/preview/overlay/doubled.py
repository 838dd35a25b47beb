"""Double marking in one layer: areas over areas, lines along lines."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.geometry.base.intersecting_pairs import intersecting_pairs
from preprocess.geometry.base.normalise import NOTHING, as_area, as_lines
from preprocess.geometry.overlay.booleans import union

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from shapely import MultiLineString, MultiPolygon

    from preprocess.model.artwork.shape import Shape

_NEAR = 1e-4
"""mm between lines that count as one: the written grid."""

_CROSSING = 0.02
"""mm: shorter stretches come from lines that cross, or touch."""


def doubled_areas(shapes: Sequence[Shape]) -> MultiPolygon:
    """What lies in two or more engraved shapes of one layer."""
    layers: dict[str, list[MultiPolygon]] = {}
    for shape in shapes:
        if shape.is_engraved_area:
            layers.setdefault(shape.layer, []).append(shape.geometry)
    return union([_shared(areas) for areas in layers.values()])


def doubled_lines(shapes: Sequence[Shape]) -> MultiLineString:
    """What lies along two or more traced lines of one layer, once."""
    layers: dict[str, list[shapely.Geometry]] = {}
    for shape in shapes:
        if not shape.is_engraved_area:
            lines = shape.geometry.boundary if shape.is_area else shape.geometry
            layers.setdefault(shape.layer, []).extend(
                lines.geoms if lines.geom_type != "LineString" else [lines]
            )
    return as_lines([_along(lines) for lines in layers.values()])


def _shared(areas: Sequence[MultiPolygon]) -> MultiPolygon:
    parts = np.array(areas, dtype=object)
    one, two = _pairs(parts)
    common = shapely.intersection(parts[one], parts[two])
    return union([as_area(area) for area in common]) if len(common) else NOTHING


def _along(lines: Iterable[shapely.Geometry]) -> MultiLineString:
    parts = np.array([piece for line in lines for piece in _simple(line)], dtype=object)
    if len(parts) == 0:
        return as_lines([])
    one, two = _pairs(parts)
    shared = shapely.intersection(parts[one], shapely.buffer(parts[two], _NEAR, quad_segs=2))
    pieces = shapely.get_parts(shared)
    long = pieces[shapely.length(pieces) > _CROSSING]
    return as_lines(shapely.line_merge(shapely.union_all(long))) if len(long) else as_lines([])


def _simple(line: shapely.Geometry) -> list[shapely.Geometry]:
    """The line, or its segments where it meets itself and may run back along itself."""
    if line.is_simple:
        return [line]
    points = shapely.get_coordinates(line)
    return list(shapely.linestrings(np.stack([points[:-1], points[1:]], axis=1)))


def _pairs(parts: np.ndarray[tuple[int], np.dtype[np.object_]]) -> tuple[np.ndarray, np.ndarray]:
    one, two = intersecting_pairs(parts, parts, "intersects")
    return one[one < two], two[one < two]
