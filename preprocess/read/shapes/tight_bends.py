"""Bends of stroked curves that are tighter than the tolerance: no corner may stand there.

A stroke is joined where segments meet, and nowhere within one (SVG 2, section 13.5.3): its edge
turns about a bend like a round join. As a single point of a polyline such a bend would get a mitre.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from preprocess.arrays import Floats, Indices

_SHARE = 0.25
"""Share of the tolerance that the little sides of a bend take together."""

_SLACK = 2.0
"""Times the turn of a round edge: the pieces of a curve do not all turn alike."""


def bend_tight_points(
    points: Floats, each: Indices, steps: Floats, tolerance: float
) -> tuple[Floats, Indices]:
    """Polylines of curves, with a turn of many short sides in place of each sharp point.

    Args:
        points: polylines of curves one behind the other, n x 2, mm.
        each: how many points each has.
        steps: by how much the edge of each may turn at a point, radians; infinite without a stroke.
        tolerance: how far the points of a turn may lie from where the sharp one was, mm.

    Returns:
        The same two, with points put in.
    """
    way = np.diff(points, axis=0)
    angle = np.arctan2(way[:, 1], way[:, 0])
    turn = (np.diff(angle) + np.pi) % (2 * np.pi) - np.pi
    curve = np.repeat(np.arange(len(each)), each)
    moves = np.hypot(*way.T) > 0
    within = (curve[:-2] == curve[2:]) & moves[:-1] & moves[1:]
    sharp = np.flatnonzero(within & (np.abs(turn) > _SLACK * steps[curve[1:-1]]))
    if not len(sharp):
        return points, each
    sides = np.ceil(np.abs(turn[sharp]) / steps[curve[sharp + 1]]).astype(np.intp)
    begins = angle[sharp]
    put = [
        _turn(points[at + 1], begin, turn[at], count, _SHARE * tolerance)
        for at, begin, count in zip(sharp, begins, sides, strict=True)
    ]
    more = each + np.bincount(curve[sharp + 1], sides, len(each)).astype(np.intp)
    return np.insert(points, np.repeat(sharp + 2, sides), np.vstack(put), axis=0), more


def _turn(at: Floats, begin: float, turn: float, count: int, length: float) -> Floats:
    """Ends of the sides, which turn evenly from the direction before to that after."""
    angles = begin + turn * np.arange(1, count + 1) / (count + 1)
    sides = np.stack((np.cos(angles), np.sin(angles)), axis=1)
    return at + np.cumsum(sides, axis=0) * length / count
