"""Hairlines of a medial axis: stretches thin and long enough, with no crumbs between."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.geometry.base.connected import component_labels
from preprocess.geometry.medial_axis.voronoi import MedialAxis

if TYPE_CHECKING:
    from preprocess.arrays import Booleans, Floats, Integers


_KNOT = 1.5
"""A wider place between hairlines is one with them up to this many widths, long and wide."""

_WAVER = 1.1
"""So is one of any length that is nowhere wider than this many widths."""

_SPUR = 1.5
"""A branch that reaches less than this many half widths beyond the others is none of its own."""

_EVEN = 1e-9
"""Relative difference below which two widths are equal."""


def split_at_reach(axis: MedialAxis, reach: float) -> MedialAxis:
    """Split the axis by a node wherever the distance to the outline passes `reach` (mm)."""
    low, high = axis.reach[axis.ends].min(axis=1), axis.reach[axis.ends].max(axis=1)
    crossed = np.flatnonzero((low < reach * (1 - _EVEN)) & (high > reach * (1 + _EVEN)))
    one, two = axis.ends[crossed].T
    share = (reach - axis.reach[one]) / (axis.reach[two] - axis.reach[one])
    fresh = np.arange(len(crossed)) + len(axis.at)
    ends = axis.ends.copy()
    ends[crossed, 1] = fresh
    return MedialAxis(
        at=np.vstack((axis.at, axis.at[one] + (axis.at[two] - axis.at[one]) * share[:, None])),
        reach=np.concatenate((axis.reach, np.full(len(crossed), reach))),
        ends=np.vstack((ends, np.stack((fresh, two), axis=1))),
        sides=np.concatenate((axis.sides, axis.sides[crossed])),
    )


def hairline_edges(axis: MedialAxis, width: float, least: float) -> Booleans:
    """Mask of the edges of hairlines: at most `width` wide, in all at least `least` long.

    Knots between hairlines, where they cross, and places that waver about the width belong to
    them. Lengths reach to the outline at the ends. In mm.
    """
    narrow: Booleans = np.all(axis.reach[axis.ends] <= width / 2 * (1 + _EVEN), axis=1)
    chosen = np.zeros(len(axis.ends), dtype=bool)
    label, length, _ = _groups(axis, narrow)
    chosen[narrow] = (length >= least)[label]
    other = ~chosen
    label, length, widest = _groups(axis, other)
    touching = _contacts(axis, chosen, other, label, len(length))
    knot = (touching >= 2) & (length <= _KNOT * width) & (widest <= _KNOT * width / 2)  # noqa: PLR2004
    waver = (touching >= 1) & (widest <= _WAVER * width / 2)
    chosen[other] = (knot | waver)[label]
    return chosen


def prune_spurs(axis: MedialAxis, width: float) -> MedialAxis:
    """Prune short branches of what is narrow (mm); a branch at the end of a hairline stays."""
    narrow = axis.reach <= _WAVER * width / 2
    left = np.ones(len(axis.ends), dtype=bool)
    tips = np.flatnonzero((axis.degree == 1) & narrow).tolist()
    around, degree, lengths = axis.around(), axis.degree.tolist(), axis.lengths.tolist()
    between = axis.ends.sum(axis=1).tolist()
    for tip in tips:
        way: list[int] = []
        node, gone = tip, 0.0
        while True:
            onward = [edge for edge in around(node) if edge not in way[-1:]]
            if len(onward) != 1 or (node != tip and degree[node] != 2):  # noqa: PLR2004
                break
            way.append(onward[0])
            gone += lengths[onward[0]]
            node = between[onward[0]] - node
            if gone > (2 + _SPUR) * width:
                break
        beyond = gone + axis.reach[tip] - axis.reach[node]
        if degree[node] > 2 and narrow[node] and beyond < _SPUR * axis.reach[node]:  # noqa: PLR2004
            left[way] = False
    return axis.only(left)


def _groups(axis: MedialAxis, mask: Booleans) -> tuple[Integers, Floats, Floats]:
    """Connected groups of some edges: label of each, and of each group its length and reach."""
    some = axis.only(mask)
    of_node = component_labels(len(axis.at), *some.ends.T)
    _, label = np.unique(of_node[some.ends[:, 0]], return_inverse=True)
    number = int(label.max(initial=-1)) + 1
    length: Floats = np.bincount(label, some.lengths, minlength=number).astype(np.float64)
    tips = (axis.degree == 1)[some.ends] * axis.reach[some.ends]
    length += np.bincount(label, tips.sum(axis=1), minlength=number)
    widest = np.zeros(number)
    np.maximum.at(widest, label, axis.reach[some.ends].max(axis=1))
    return label.astype(np.int64), length, widest


def _contacts(
    axis: MedialAxis, chosen: Booleans, other: Booleans, label: Integers, number: int
) -> Integers:
    """In how many nodes each group of the others meets what is chosen."""
    met = np.zeros(len(axis.at), dtype=bool)
    met[axis.ends[chosen]] = True
    pairs = np.stack((np.repeat(label, 2), axis.ends[other].ravel()), axis=1)
    pairs = np.unique(pairs[met[pairs[:, 1]]], axis=0)
    return np.bincount(pairs[:, 0], minlength=number)
