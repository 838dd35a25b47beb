"""Chains: stretches of a medial axis between its ends and the nodes where more than two meet."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from preprocess.geometry.base.polylines import arc_lengths, points_along

if TYPE_CHECKING:
    from preprocess.arrays import Floats, Integers
    from preprocess.geometry.medial_axis.voronoi import MedialAxis


_PASSED = 2


@dataclass(frozen=True, slots=True, eq=False)
class Chain:
    """Nodes in order, with their points (n × 2, mm), half widths (n), and way from the first."""

    nodes: Integers
    points: Floats
    reach: Floats
    way: Floats

    @property
    def length(self) -> float:
        """Length, mm."""
        return float(self.way[-1])

    def end(self, last: int) -> int:
        """The node at the beginning (0) or at the end (1)."""
        return int(self.nodes[-last])

    def at(self, away: float, last: int) -> Floats:
        """The point so far along from one end."""
        where = self.length - away if last else away
        return points_along(self.points, self.way, np.array([where]))[0]

    def between(self, start: float, stop: float) -> tuple[Floats, Floats]:
        """Points and half widths from one place along the chain to another."""
        inner = (self.way > start) & (self.way < stop)
        places = np.concatenate(([start], self.way[inner], [stop]))
        points = points_along(self.points, self.way, places)
        return points, np.interp(places, self.way, self.reach)


def axis_chains(axis: MedialAxis) -> list[Chain]:
    """Chains of an axis, each edge in one of them: open ones first, then rings."""
    around: dict[int, list[int]] = defaultdict(list)
    ends = axis.ends.tolist()
    for edge, pair in enumerate(ends):
        for node in pair:
            around[node].append(edge)
    used = [False] * len(ends)
    found = []
    stops = [node for node in sorted(around) if len(around[node]) != _PASSED]
    for node in [*stops, *sorted(around)]:
        found += [
            _chain(axis, _way(ends, around, used, node, edge))
            for edge in around[node]
            if not used[edge]
        ]
    return found


def _way(
    ends: list[list[int]], around: dict[int, list[int]], used: list[bool], node: int, edge: int
) -> list[int]:
    """Nodes from a node along an edge up to the next stop."""
    start, nodes = node, [node]
    while True:
        used[edge] = True
        one, two = ends[edge]
        node = two if node == one else one
        nodes.append(node)
        onward = [e for e in around[node] if not used[e]]
        if len(around[node]) != _PASSED or node == start or not onward:
            return nodes
        edge = onward[0]


def _chain(axis: MedialAxis, nodes: list[int]) -> Chain:
    points = axis.at[nodes]
    way = arc_lengths(points)
    return Chain(np.array(nodes), points, axis.reach[nodes], way)
