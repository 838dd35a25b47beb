"""The row frame: u along the rows, v across them, so that rows are lines of constant v.

Angles are degrees, counter-clockwise from +x as seen on the page, whose y runs down. The first
row is the one with the smallest v: at angle 0 the topmost.
"""

from __future__ import annotations

import math
from typing import TypeVar

from shapely import MultiLineString, MultiPolygon
from shapely.affinity import affine_transform

Geometry = TypeVar("Geometry", MultiPolygon, MultiLineString)


def axes(angle: float) -> tuple[float, float]:
    """Cosine and sine of the scan angle, exact at multiples of 90 degrees."""
    quarter, rest = divmod(angle % 360.0, 90.0)
    if rest == 0.0:
        return ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarter) % 4]
    return math.cos(math.radians(angle)), math.sin(math.radians(angle))


def to_rows(geometry: Geometry, angle: float) -> Geometry:
    """Turn from the page (x, y) into the row frame (u, v): u = x cos − y sin, v = x sin + y cos."""
    return _turned(geometry, *axes(angle))


def to_page(geometry: Geometry, angle: float) -> Geometry:
    """Turn from the row frame back to the page."""
    cos, sin = axes(angle)
    return _turned(geometry, cos, -sin)


def _turned(geometry: Geometry, cos: float, sin: float) -> Geometry:
    return geometry if cos == 1.0 else affine_transform(geometry, (cos, -sin, sin, cos, 0.0, 0.0))
