"""Affine maps as the six numbers of SVG's `matrix`: the usual ones, and their composition."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.geometry.base.row_frame import RowFrame

if TYPE_CHECKING:
    from preprocess.model.artwork.shape import Matrix


def compose(outer: Matrix, inner: Matrix) -> Matrix:
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


def rotation(angle: float, *, mirrored: bool = False) -> Matrix:
    """Mirror left and right if asked, then turn by degrees, counter-clockwise as seen."""
    cos, sin = RowFrame(angle).cos_sin
    flip = -1.0 if mirrored else 1.0
    return flip * cos, -flip * sin, sin, cos, 0.0, 0.0


def scaling(across: float, down: float) -> Matrix:
    """Multiply x and y, about 0, 0."""
    return across, 0.0, 0.0, down, 0.0, 0.0


def translation(right: float, down: float) -> Matrix:
    """Add to x and y."""
    return 1.0, 0.0, 0.0, 1.0, right, down


def about_point(matrix: Matrix, point: tuple[float, float]) -> Matrix:
    """The same map about another point than 0, 0."""
    x, y = point
    return compose(translation(x, y), compose(matrix, translation(-x, -y)))
