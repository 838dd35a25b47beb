"""Elliptical arcs of SVG paths to polylines (SVG 1.1, appendix F.6); many arcs at a time."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.geometry.flatten import MOST_PIECES
from preprocess.geometry.ranges import spread

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Ints = NDArray[np.intp]


def flatten_arcs(arcs: Floats, tolerance: float) -> list[Floats]:
    """Flatten elliptical arcs as SVG's path command A gives them.

    Args:
        arcs: n x 9: start x and y, radii rx and ry, rotation of the ellipse in degrees,
            large-arc flag, sweep flag, end x and y.
        tolerance: largest distance between arc and polyline, in the unit of the points.

    Returns:
        For each arc a polyline of k x 2 points with both end points, exact as given. A radius
        of zero gives the straight line, radii that are too small grow until the ends fit.
    """
    table = np.asarray(arcs, dtype=np.float64).reshape(-1, 9)
    start, end = table[:, :2], table[:, 7:]
    axes, centre, first, turn = _centres(table)
    pieces = _pieces(axes, turn, tolerance)
    arc, step = spread(np.zeros_like(pieces), pieces + 1)
    angle = first[arc] + turn[arc] * step / pieces[arc]
    points = (
        centre[arc] + axes[arc, 0] * np.cos(angle)[:, None] + axes[arc, 1] * np.sin(angle)[:, None]
    )
    stop = np.cumsum(pieces + 1)
    points[stop - pieces - 1], points[stop - 1] = start, end
    return np.split(points, stop[:-1]) if len(stop) else []


def _centres(table: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """Half axes as two vectors each, centres, first angles and turns (F.6.5 and F.6.6)."""
    start, end, large, sweep = table[:, :2], table[:, 7:], table[:, 5] != 0, table[:, 6] != 0
    straight = (table[:, 2:4] == 0).any(axis=1) | (start == end).all(axis=1)
    radii = np.where(straight[:, None], 1.0, np.abs(table[:, 2:4]))
    directions = _unit_vectors(table[:, 4])
    primed = np.einsum("nij,nj->ni", directions, (start - end) / 2) / radii
    size = np.hypot(*primed.T)
    grown = np.maximum(size, 1.0)
    primed /= grown[:, None]
    square = np.where(size > 0, (size / grown) ** 2, 1.0)
    away = np.sqrt(np.maximum(1 / square - 1, 0.0)) * np.where(large == sweep, -1.0, 1.0)
    middle = away[:, None] * np.column_stack((primed[:, 1], -primed[:, 0]))
    first = np.arctan2(*(primed - middle).T[::-1])
    turn = (np.arctan2(*(-primed - middle).T[::-1]) - first) % (2 * np.pi)
    turn = np.where(sweep, turn, turn - 2 * np.pi) * ~straight
    axes = directions * (radii * grown[:, None])[:, :, None]
    return axes, (start + end) / 2 + np.einsum("nij,ni->nj", axes, middle), first, turn


def _unit_vectors(degrees: Floats) -> Floats:
    """The directions of both half axes, n x 2 x 2."""
    cos, sin = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    return np.stack((np.column_stack((cos, sin)), np.column_stack((-sin, cos))), axis=1)


def _pieces(axes: Floats, turn: Floats, tolerance: float) -> Ints:
    """Chords of a turn t on radius r stay within r (1 − cos(t / 2)) of their arc."""
    radius = np.hypot(axes[:, :, 0], axes[:, :, 1]).max(axis=1)
    step = 2 * np.arccos(1 - np.minimum(tolerance / np.maximum(radius, tolerance), 1.0))
    return np.clip(np.ceil(np.abs(turn) / step), 1, MOST_PIECES).astype(np.intp)
