"""Lines around areas: what they enclose, and what of them lies outside areas."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.geometry.base.normalise import as_lines
from preprocess.geometry.overlay.arrangement import fill_contours
from preprocess.geometry.overlay.booleans import cut_away

if TYPE_CHECKING:
    from shapely import MultiLineString, MultiPolygon

    from preprocess.arrays import Geometries

ROUNDING = 1e-6
"""mm: less than this off a line, or off each mm of an outline, is the rounding of numbers."""


def area_within(geometry: MultiPolygon | MultiLineString) -> MultiPolygon:
    """Area that closed lines enclose, a ring in a ring being a hole; an area as it is."""
    if isinstance(geometry, shapely.MultiPolygon):
        return geometry
    rings = [line for line in geometry.geoms if line.is_closed]
    return fill_contours([shapely.get_coordinates(ring) for ring in rings], "evenodd")


def lines_outside(lines: MultiLineString, area: MultiPolygon) -> MultiLineString:
    """Pieces of lines outside an area; lines that do not enter it stay as they are.

    A ring is opened where the area cuts it and nowhere else.
    """
    parts = shapely.get_parts(lines)
    shapely.prepare(area)
    found: list[shapely.Geometry] = []
    for line, meets in zip(parts, shapely.intersects(area, parts), strict=True):
        found.append(_outside(line, area) if meets else line)
    return as_lines(found) if found else lines


def _outside(line: shapely.LineString, area: MultiPolygon) -> shapely.Geometry:
    rest = cut_away(line, area)
    if line.length - rest.length <= ROUNDING:
        return line
    pieces = shapely.get_parts(shapely.line_merge(rest, directed=True))
    return shapely.multilinestrings(_along(pieces, line))


def _along(pieces: Geometries, line: shapely.LineString) -> Geometries:
    """The pieces in the order in which the line passes through them."""
    starts = shapely.get_point(pieces, 0)
    return pieces[np.argsort(shapely.line_locate_point(line, starts), kind="stable")]
