"""The row frame: u along the rows, v across them, so that rows are lines of constant v.

Angles are degrees, counter-clockwise from +x as seen on the page, whose y runs down. The first
row is the one with the smallest v: at angle 0 the topmost.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

import numpy as np
from shapely import MultiLineString, MultiPolygon
from shapely.affinity import affine_transform

from preprocess.geometry.base.affine import cos_sin

if TYPE_CHECKING:
    from preprocess.arrays import Floats, Integers

    Number = TypeVar("Number", float, Floats)

Geometry = TypeVar("Geometry", MultiPolygon, MultiLineString)

_NEAR = 1.5e-4
"""mm by which a vertex may miss a row and still be taken to lie on it. On a grid of 1e-4 mm an
edge at any angle, and the edge that the rows begin on, move by 0.5e-4 × √2 each: together less,
and a row on an edge must not be lost or gained through that."""


@dataclass(frozen=True, slots=True)
class RowFrame:
    """The frame of rows at a scan angle in degrees: u = x cos − y sin, v = x sin + y cos."""

    angle: float

    @property
    def cos_sin(self) -> tuple[float, float]:
        """Cosine and sine of the scan angle, exact at multiples of 90 degrees."""
        return cos_sin(self.angle)

    def to_uv(self, x: Number, y: Number) -> tuple[Number, Number]:
        """Coordinates u, v of places x, y on the page; numbers, or arrays that broadcast."""
        cos, sin = self.cos_sin
        return x * cos - y * sin, x * sin + y * cos

    def to_xy(self, u: Number, v: Number) -> tuple[Number, Number]:
        """Coordinates x, y on the page of places u, v; numbers, or arrays that broadcast."""
        cos, sin = self.cos_sin
        return u * cos + v * sin, v * cos - u * sin

    def to_rows(self, geometry: Geometry) -> Geometry:
        """Rotate an area or lines from the page into the row frame."""
        cos, sin = self.cos_sin
        return _rotated(geometry, cos, sin)

    def to_page(self, geometry: Geometry) -> Geometry:
        """Rotate an area or lines from the row frame back to the page."""
        cos, sin = self.cos_sin
        return _rotated(geometry, cos, -sin)


def change_angle(u: Number, v: Number, old: float, new: float) -> tuple[Number, Number]:
    """Coordinates in the frame of the new angle of places u, v in that of the old (degrees)."""
    return RowFrame(new - old).to_uv(u, v)


def snap_to_rows(
    points: Floats, first: float | Floats, pitch: float | Floats, count: int | Integers
) -> Floats:
    """Move points of the row frame (n × 2, u and v in mm) onto one of `count` rows if near it.

    The place of the row after the last one counts too: an edge there has no row. The grid is one
    for all points, or one for each.
    """
    points = points.copy()
    index = np.clip(np.rint((points[:, 1] - first) / pitch), 0, count)
    on_row = first + pitch * index
    near = np.abs(points[:, 1] - on_row) <= np.minimum(_NEAR, pitch / 100)
    points[near, 1] = on_row[near]
    return points


def _rotated(geometry: Geometry, cos: float, sin: float) -> Geometry:
    return geometry if cos == 1.0 else affine_transform(geometry, (cos, -sin, sin, cos, 0.0, 0.0))
