"""Curves to polylines that stay within a tolerance; many curves at a time.

A Bézier curve is cut into n pieces of equal parameter length. With D the largest second difference
of its control points, each piece stays within d (d − 1) D / (8 n²) of its chord for degree d:
the bound of G. Wang, "The subdivision method for finding the intersection between two Bézier
curves or surfaces", Zhejiang University Journal, 1984.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.geometry.base.ranges import spread

if TYPE_CHECKING:
    from preprocess.arrays import Floats, Indices


MOST_PIECES = 100_000
"""No curve is cut into more pieces, however far it reaches beyond any page."""


def flatten_cubics(curves: Floats, tolerance: float | Floats) -> list[Floats]:
    """Flatten cubic Bézier curves; as `cubic_points`, a polyline of k x 2 for each curve."""
    return _split(*cubic_points(curves, tolerance))


def cubic_points(curves: Floats, tolerance: float | Floats) -> tuple[Floats, Indices]:
    """The points of flattened cubic Bézier curves, one polyline behind the other.

    Args:
        curves: n x 4 x 2 control points.
        tolerance: largest distance between curve and polyline, in the unit of the points; one for
            all curves or one for each.

    Returns:
        Points with both end points of each curve, exact as given; and how many each curve has.
    """
    p0, p1, p2, p3 = np.moveaxis(np.asarray(curves, dtype=np.float64).reshape(-1, 4, 2), 1, 0)
    bend = np.maximum(_size(p0 - 2 * p1 + p2), _size(p1 - 2 * p2 + p3))
    power = (p3 - 3 * p2 + 3 * p1 - p0, 3 * (p2 - 2 * p1 + p0), 3 * (p1 - p0), p0)
    return _polylines(power, p3, _pieces(np.sqrt(0.75 * bend / tolerance)))


def count_of_cubics(curves: Floats, tolerance: float | Floats) -> int:
    """How many pieces `cubic_points` would make; takes little memory whatever the answer."""
    p0, p1, p2, p3 = np.moveaxis(np.asarray(curves, dtype=np.float64).reshape(-1, 4, 2), 1, 0)
    bend = np.maximum(_size(p0 - 2 * p1 + p2), _size(p1 - 2 * p2 + p3))
    return int(_pieces(np.sqrt(0.75 * bend / tolerance)).sum())


def _polylines(power: tuple[Floats, ...], end: Floats, pieces: Indices) -> tuple[Floats, Indices]:
    """Points at equal steps of the polynomials with these coefficients, highest power first."""
    curve, step = spread(np.zeros_like(pieces), pieces + 1)
    t = (step / pieces[curve])[:, None]
    points = power[0][curve]
    for coefficient in power[1:]:
        points = points * t + coefficient[curve]
    points[np.cumsum(pieces + 1) - 1] = end
    return points, pieces + 1


def _split(points: Floats, counts: Indices) -> list[Floats]:
    return np.split(points, np.cumsum(counts)[:-1]) if len(counts) else []


def _pieces(wanted: Floats) -> Indices:
    return np.clip(np.ceil(wanted), 1, MOST_PIECES).astype(np.intp)


def _size(vectors: Floats) -> Floats:
    return np.hypot(vectors[:, 0], vectors[:, 1])
