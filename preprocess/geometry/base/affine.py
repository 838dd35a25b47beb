"""Affine maps as the six numbers of SVG's `matrix`: the usual ones, and their composition."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from preprocess.arrays import Points
    from preprocess.model.artwork.shape import Matrix


def cos_sin(angle: float) -> tuple[float, float]:
    """Cosine and sine of an angle in degrees, exact at multiples of 90 degrees."""
    quarter, rest = divmod(angle % 360.0, 90.0)
    if rest == 0.0:
        return ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarter) % 4]
    return math.cos(math.radians(angle)), math.sin(math.radians(angle))


def map_points(points: Points, matrix: Matrix) -> Points:
    """Points (n × 2) under a map: x' = a x + c y + e, y' = b x + d y + f."""
    a, b, c, d, e, f = matrix
    x, y = points[:, 0], points[:, 1]
    return np.column_stack((a * x + c * y + e, b * x + d * y + f))


def compose(outer: Matrix, inner: Matrix) -> Matrix:
    """Composition of two maps: `inner` first, then `outer`."""
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


def inverted(matrix: Matrix) -> Matrix:
    """The map that undoes another, which must not flatten."""
    a, b, c, d, e, f = matrix
    size = a * d - b * c
    a, b, c, d = d / size, -b / size, -c / size, a / size
    return a, b, c, d, -(a * e + c * f), -(b * e + d * f)


def rotation(angle: float, *, mirrored: bool = False) -> Matrix:
    """Rotation by degrees, counter-clockwise as seen, after mirroring left and right if asked."""
    cos, sin = cos_sin(angle)
    flip = -1.0 if mirrored else 1.0
    return flip * cos, -flip * sin, sin, cos, 0.0, 0.0


def scaling(across: float, down: float) -> Matrix:
    """Scaling of x and y about 0, 0."""
    return across, 0.0, 0.0, down, 0.0, 0.0


def translation(right: float, down: float) -> Matrix:
    """Translation, mm: y runs down."""
    return 1.0, 0.0, 0.0, 1.0, right, down


def about_point(matrix: Matrix, point: tuple[float, float]) -> Matrix:
    """The same map with another point in the place of 0, 0."""
    x, y = point
    return compose(translation(x, y), compose(matrix, translation(-x, -y)))
