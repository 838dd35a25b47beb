"""Network of borders of outlines and lines: what several of them share is one border.

A border runs from one node to the next. Nodes are where borders meet or end. A ring that meets
nothing is one border, which begins at its vertex farthest from the middle, so that moved and turned
drawings are cut alike.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import shapely

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from shapely.geometry.base import BaseGeometry

    from preprocess.arrays import Booleans, Floats, Geometries, Indices


_ENDS = 2
"""A vertex with other than two neighbours is a node."""


BorderChains = tuple[tuple[tuple[int, bool], ...], ...]
"""For each ring of a part, or its one line: borders by number, and whether each is followed
backwards."""


class BorderNetwork(NamedTuple):
    """Borders as lines, and for each part the borders that it runs along."""

    borders: Geometries
    chains: tuple[BorderChains, ...]


def border_network(parts: Sequence[BaseGeometry]) -> BorderNetwork:
    """Network of polygons and lines; they share a border where their vertices are the same."""
    outlines = [_outlines(part) for part in parts]
    places, number = _numbered([chain for chains in outlines for chain in chains])
    nodes = _nodes(number, len(places))
    borders: dict[bytes, int] = {}
    found: list[Floats] = []
    mine = iter(number)

    def told(chain: Indices) -> Iterator[tuple[int, bool]]:
        for arc in _arcs(chain, nodes, places):
            backwards = _is_backwards(arc)
            way = arc[::-1] if backwards else arc
            key = way.tobytes()
            if key not in borders:
                borders[key] = len(found)
                found.append(places[way])
            yield borders[key], backwards

    chains = tuple(tuple(tuple(told(next(mine))) for _ in rings) for rings in outlines)
    return BorderNetwork(borders=_lines(found), chains=chains)


def rebuild_parts(
    parts: Sequence[BaseGeometry], chains: BorderNetwork, borders: Geometries
) -> Geometries:
    """Rebuild the parts along other borders; those with the same points are the very same."""
    result = np.array(parts, dtype=object)
    for index, (part, rings) in enumerate(zip(parts, chains.chains, strict=True)):
        made = [_joined(ring, borders) for ring in rings]
        if sum(map(len, made)) != shapely.get_num_coordinates(part):
            result[index] = (
                shapely.Polygon(made[0], made[1:])
                if shapely.get_dimensions(part) == _ENDS
                else shapely.linestrings(made[0])
            )
    return result


def _lines(found: Sequence[Floats]) -> Geometries:
    lines = np.empty(len(found), dtype=object)
    lines[:] = [shapely.linestrings(points) for points in found]
    return lines


def _outlines(part: BaseGeometry) -> list[Floats]:
    rings = shapely.get_rings(part) if shapely.get_dimensions(part) == _ENDS else [part]
    return [shapely.get_coordinates(ring) for ring in rings]


def _numbered(chains: Sequence[Floats]) -> tuple[Floats, list[Indices]]:
    """All places once, and each chain as their numbers; standing still is left out."""
    if not chains:
        return np.empty((0, 2)), []
    places, number = np.unique(np.concatenate(chains) + 0.0, axis=0, return_inverse=True)
    split = np.split(number.ravel(), np.cumsum([len(chain) for chain in chains])[:-1])
    return places, [c[np.append(np.diff(c) != 0, [True])] for c in split]


def _nodes(chains: Sequence[Indices], count: int) -> Booleans:
    """Nodes: ends of lines, and places where not exactly two ways lead on."""
    nodes = np.zeros(count, dtype=bool)
    steps = [np.stack((c[:-1], c[1:]), axis=1) for c in chains]
    if not steps:
        return nodes
    ways = np.unique(np.sort(np.concatenate(steps), axis=1), axis=0)
    nodes[np.bincount(ways.ravel(), minlength=count) != _ENDS] = True
    for chain in chains:
        if chain[0] != chain[-1]:
            nodes[[chain[0], chain[-1]]] = True
    return nodes


def _arcs(chain: Indices, nodes: Booleans, places: Floats) -> Iterator[Indices]:
    if chain[0] == chain[-1] and len(chain) > 1:
        inside = np.flatnonzero(nodes[chain[:-1]])
        start = int(inside[0]) if len(inside) else _farthest(chain[:-1], places)
        chain = np.append(np.roll(chain[:-1], -start), chain[start])
    cuts = [0, *(np.flatnonzero(nodes[chain[1:-1]]) + 1).tolist(), len(chain) - 1]
    for first, last in pairwise(cuts):
        yield chain[first : last + 1]


def _farthest(ring: Indices, places: Floats) -> int:
    """The vertex farthest from the middle of the box around the ring; of equals the first."""
    order = np.sort(ring)
    points = places[order]
    away = np.hypot(*(points - (points.min(axis=0) + points.max(axis=0)) / 2).T)
    chosen = order[np.flatnonzero(away >= away.max() * (1 - 1e-9))[0]]
    return int(np.flatnonzero(ring == chosen)[0])


def _is_backwards(arc: Indices) -> bool:
    """Test whether the arc runs from a later place to an earlier; rings by their second vertex."""
    if arc[0] == arc[-1]:
        return bool(arc[1] > arc[-2])
    return bool(arc[0] > arc[-1])


def _joined(ring: Sequence[tuple[int, bool]], borders: Geometries) -> Floats:
    points = [
        shapely.get_coordinates(borders[number])[:: -1 if backwards else 1]
        for number, backwards in ring
    ]
    return np.concatenate([points[0], *(more[1:] for more in points[1:])])
