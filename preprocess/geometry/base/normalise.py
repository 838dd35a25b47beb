"""Normal forms of areas and lines, with their parts in one fixed order."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import MultiLineString, MultiPolygon

if TYPE_CHECKING:
    from collections.abc import Iterable

    from shapely.geometry.base import BaseGeometry

    from preprocess.arrays import Geometries, Indices


NOTHING = MultiPolygon()
NO_LINES = MultiLineString()

_POLYGON = 3
_LINES = (1, 2)
_SEVERAL = 4
"""From this type of GEOS on: several points, lines or polygons, and collections of anything."""


def as_area(geometry: BaseGeometry | Iterable[BaseGeometry]) -> MultiPolygon:
    """Keep the polygons of a geometry or of several, top to bottom, then left to right."""
    parts = polygons_of(geometry)
    return shapely.multipolygons(sort_parts(parts)) if len(parts) else NOTHING


def as_lines(geometry: BaseGeometry | Iterable[BaseGeometry]) -> MultiLineString:
    """Keep the lines of a geometry or of several, in the order they have."""
    parts = _flat(geometry)
    lines = parts[np.isin(shapely.get_type_id(parts), _LINES) & ~shapely.is_empty(parts)]
    return shapely.multilinestrings(lines) if len(lines) else NO_LINES


def polygons_of(geometry: BaseGeometry | Iterable[BaseGeometry]) -> Geometries:
    """Array of the polygons, none empty, of a geometry or of several, in given order."""
    parts = _flat(geometry)
    return parts[(shapely.get_type_id(parts) == _POLYGON) & ~shapely.is_empty(parts)]


def sort_parts(parts: Geometries) -> Geometries:
    """Sort geometries by top, left, bottom, right, then by size."""
    return parts[part_order(parts)]


def part_order(parts: Geometries, *first: Indices) -> Indices:
    """The order of sorted parts; `first` are numbers of each that count before its place."""
    left, top, right, bottom = shapely.bounds(parts).reshape(-1, 4).T
    size = np.abs(shapely.area(parts)) + shapely.length(parts)
    return np.lexsort((size, right, bottom, left, top, *first))


def _flat(geometry: BaseGeometry | Iterable[BaseGeometry]) -> Geometries:
    given = [geometry] if isinstance(geometry, shapely.Geometry) else list(geometry)
    parts = np.array(given, dtype=object)
    while np.any(shapely.get_type_id(parts) >= _SEVERAL):
        parts = shapely.get_parts(parts)
    return parts
