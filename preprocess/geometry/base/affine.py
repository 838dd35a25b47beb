"""Affine maps of areas and lines, and maps put one after another."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar

import shapely
from shapely import MultiLineString, MultiPolygon
from shapely.affinity import affine_transform

from preprocess.geometry.base.row_frame import axes
from preprocess.geometry.base.sweep import contours_of
from preprocess.geometry.overlay.fill_rules import resolve

if TYPE_CHECKING:
    from preprocess.model.artwork.shape import Matrix

Geometry = TypeVar("Geometry", MultiPolygon, MultiLineString)


def mapped(geometry: Geometry, matrix: Matrix) -> Geometry:
    """An area or lines under a map; an area stays valid where the rounding of a turn would not.

    Rings that touch in a point may cross by the last digit of a number once they are turned.
    """
    a, b, c, d, e, f = matrix
    result = affine_transform(geometry, (a, c, b, d, e, f))
    if isinstance(result, MultiPolygon) and not shapely.is_valid(result):
        return resolve(contours_of(result), "evenodd")
    return result


def after(outer: Matrix, inner: Matrix) -> Matrix:
    """The map that does `inner` first and then `outer`."""
    a, b, c, d, e, f = outer
    p, q, r, s, t, u = inner
    return (
        a * p + c * q,
        b * p + d * q,
        a * r + c * s,
        b * r + d * s,
        a * t + c * u + e,
        b * t + d * u + f,
    )


def turned(angle: float, *, mirrored: bool = False) -> Matrix:
    """Mirror left and right if asked, then turn by degrees, counter-clockwise as seen."""
    cos, sin = axes(angle)
    flip = -1.0 if mirrored else 1.0
    return flip * cos, -flip * sin, sin, cos, 0.0, 0.0


def stretched(across: float, down: float) -> Matrix:
    """Multiply x and y, about 0, 0."""
    return across, 0.0, 0.0, down, 0.0, 0.0


def moved(right: float, down: float) -> Matrix:
    """Add to x and y."""
    return 1.0, 0.0, 0.0, 1.0, right, down


def about(matrix: Matrix, point: tuple[float, float]) -> Matrix:
    """The same map about another point than 0, 0."""
    x, y = point
    return after(moved(x, y), after(matrix, moved(-x, -y)))
