"""Curves to polylines that stay within a tolerance; many curves at a time.

A Bézier curve is cut into n pieces of equal parameter length. With D the largest second difference
of its control points, each piece stays within d (d − 1) D / (8 n²) of its chord for degree d:
the bound of G. Wang, "The subdivision method for finding the intersection between two Bézier
curves or surfaces", Zhejiang University Journal, 1984.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.geometry.base.ranges import expand_ranges

if TYPE_CHECKING:
    from preprocess.arrays import Floats, Indices


MAX_PIECES = 100_000
"""No curve is cut into more pieces, however far it reaches beyond any page."""


def flatten_cubics(curves: Floats, tolerance: float | Floats) -> tuple[Floats, Indices]:
    """Flatten cubic Bézier curves; the polylines come one behind the other.

    Args:
        curves: n x 4 x 2 control points.
        tolerance: largest distance between curve and polyline, in the unit of the points; one for
            all curves or one for each.

    Returns:
        Points with both end points of each curve, exact as given; and how many each curve has.
    """
    p0, p1, p2, p3 = control = _control_points(curves)
    power = (p3 - 3 * p2 + 3 * p1 - p0, 3 * (p2 - 2 * p1 + p0), 3 * (p1 - p0), p0)
    return _polylines(power, p3, _pieces(control, tolerance))


def count_pieces(curves: Floats, tolerance: float | Floats) -> int:
    """Number of pieces that `flatten_cubics` would make; takes little memory whatever it is."""
    return int(_pieces(_control_points(curves), tolerance).sum())


def _polylines(power: tuple[Floats, ...], end: Floats, pieces: Indices) -> tuple[Floats, Indices]:
    """Points at equal steps of the polynomials with these coefficients, highest power first."""
    curve, step = expand_ranges(np.zeros_like(pieces), pieces + 1)
    t = (step / pieces[curve])[:, None]
    points = power[0][curve]
    for coefficient in power[1:]:
        points = points * t + coefficient[curve]
    points[np.cumsum(pieces + 1) - 1] = end
    return points, pieces + 1


def _control_points(curves: Floats) -> Floats:
    """The four control points of each curve, one after another: 4 × n × 2."""
    return np.moveaxis(np.asarray(curves, dtype=np.float64).reshape(-1, 4, 2), 1, 0)


def _pieces(control: Floats, tolerance: float | Floats) -> Indices:
    """Number of pieces of each curve, by Wang's bound."""
    p0, p1, p2, p3 = control
    bend = np.maximum(_size(p0 - 2 * p1 + p2), _size(p1 - 2 * p2 + p3))
    wanted = np.ceil(np.sqrt(0.75 * bend / tolerance))
    return np.clip(wanted, 1, MAX_PIECES).astype(np.intp)


def _size(vectors: Floats) -> Floats:
    return np.hypot(vectors[:, 0], vectors[:, 1])
