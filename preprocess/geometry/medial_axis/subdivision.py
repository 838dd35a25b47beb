"""Edges of a medial axis divided, so that position and width between their nodes are straight."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.geometry.base.ranges import expand_ranges

if TYPE_CHECKING:
    from preprocess.arrays import Booleans, Floats, Integers


_FINE = 0.0005
"""Largest deviation of a divided parabola from the true one, mm."""

_MOST = 64
"""Into how many pieces an edge is divided at most."""

_FLAT = 1e-9
_BOTH = 2


def subdivide_edges(
    at: Floats, reach: Floats, ends: Integers, sides: Floats
) -> tuple[Floats, Floats, Integers, Integers]:
    """Divide edges between two corners, and between a corner and a line.

    Args:
        at: nodes, n × 2.
        reach: their distance to the outline, n.
        ends: two nodes for each edge, m × 2.
        sides: what each edge lies between, m × 2 × 2 × 2.

    Returns:
        Nodes, their distances, edges, and for each of these the edge that it is a piece of.
    """
    corner = np.all(sides[:, :, 0] == sides[:, :, 1], axis=-1)
    bent = corner[:, 0] != corner[:, 1]
    focus = np.where(corner[:, :1], sides[:, 0, 0], sides[:, 1, 0])
    base = np.where(corner[:, 0, None, None], sides[:, 1], sides[:, 0])
    frame = _frame(focus, base)
    span = _along(at[ends], frame)
    count = _counts(
        np.hypot(*(at[ends[:, 1]] - at[ends[:, 0]]).T),
        reach[ends].min(axis=1),
        np.abs(span[:, 1] - span[:, 0]),
        np.hypot(*frame[2].T),
        corner.sum(axis=1),
    )
    edge, number = expand_ranges(np.zeros_like(count), count)
    inner = number > 0
    share = (number / count[edge])[inner]
    owner = edge[inner]
    places = _places(at[ends], frame, span, bent, owner, share)
    nearest = np.hypot(*(places - focus[owner]).T)
    plain = ~bent[owner] & ~corner[owner].all(axis=1)
    nearest[plain] = (reach[ends[owner, 0]] * (1 - share) + reach[ends[owner, 1]] * share)[plain]
    name = np.full(len(edge), -1)
    name[inner] = len(at) + np.arange(int(inner.sum()))
    start = np.where(inner, name, ends[edge, 0])
    last = number == count[edge] - 1
    stop = np.where(last, ends[edge, 1], np.roll(name, -1))
    return (
        np.concatenate((at, places)),
        np.concatenate((reach, nearest)),
        np.stack((start, stop), axis=1),
        edge,
    )


def _frame(focus: Floats, base: Floats) -> tuple[Floats, Floats, Floats]:
    """Foot of the focus on the line, direction of the line, vector from the foot to the focus."""
    along = base[:, 1] - base[:, 0]
    length = np.hypot(*along.T)
    unit = along / np.where(length > 0, length, 1.0)[:, None]
    foot = base[:, 0] + unit * ((focus - base[:, 0]) * unit).sum(axis=1)[:, None]
    return foot, unit, focus - foot


def _along(points: Floats, frame: tuple[Floats, Floats, Floats]) -> Floats:
    """Positions of both ends along the line, from the foot, m × 2."""
    foot, unit, _ = frame
    return ((points - foot[:, None]) * unit[:, None]).sum(axis=-1)


def _counts(
    length: Floats, least: Floats, spread: Floats, height: Floats, corners: Integers
) -> Integers:
    """Into how many pieces each edge is divided; `corners` tells how many of its sides are one."""
    sag = np.sqrt(8 * np.maximum(height, _FLAT) * _FINE)
    pieces = np.where((corners == 1) & (height > _FLAT), spread / sag, 1.0)
    pieces = np.where(corners == _BOTH, 8 * length / np.maximum(least, _FLAT), pieces)
    return np.clip(np.ceil(pieces), 1, _MOST).astype(np.int64)


def _places(
    points: Floats,
    frame: tuple[Floats, Floats, Floats],
    span: Floats,
    bent: Booleans,
    owner: Integers,
    share: Floats,
) -> Floats:
    """Nodes between the ends: on the parabola where the edge is bent, else on the straight line."""
    foot, unit, up = (values[owner] for values in frame)
    height = np.maximum(np.hypot(*up.T), _FLAT)
    x = span[owner, 0] * (1 - share) + span[owner, 1] * share
    y = (x**2 + height**2) / (2 * height)
    curve = foot + unit * x[:, None] + up * (y / height)[:, None]
    ends = points[owner]
    straight = ends[:, 0] + (ends[:, 1] - ends[:, 0]) * share[:, None]
    return np.where(bent[owner][:, None], curve, straight)
