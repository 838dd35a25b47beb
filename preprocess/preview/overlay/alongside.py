"""Stretches of lines that run along other lines, or along earlier ones, and the rest."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import shapely

from preprocess.geometry.base.intersecting_pairs import intersecting_batches
from preprocess.geometry.base.normalise import as_lines

if TYPE_CHECKING:
    from collections.abc import Iterator

    from shapely import MultiLineString

    from preprocess.arrays import Booleans, Floats, Geometries, Indices

_NEAR = 1e-4
"""mm between lines that count as one: the written grid."""

_SHORT = 0.02
"""mm: shorter stretches come from lines that cross or touch, or from cutting."""

_SECTORS = 16
"""Classes of direction: only edges of one class or of two next to one another can run along."""

_SAME = 1e-9
"""Share of an edge below which there is no gap between two stretches."""


class Stretches(NamedTuple):
    """Stretches that run along, and those that run apart; pieces up to 0.02 mm are in neither."""

    along: MultiLineString
    apart: MultiLineString


class _Edges(NamedTuple):
    """Edges of lines: both ends (n × 2, mm), number of the line, arc length at the start."""

    start: Floats
    end: Floats
    line: Indices
    arc: Floats

    @property
    def sector(self) -> Indices:
        """Class of direction, either way round."""
        turn = np.arctan2(*(self.end - self.start).T[::-1]) % np.pi
        return np.minimum(turn * _SECTORS / np.pi, _SECTORS - 1).astype(np.intp)

    def drawn(self, chosen: Indices) -> Geometries:
        """The chosen edges as lines."""
        return shapely.linestrings(np.stack((self.start[chosen], self.end[chosen]), axis=1))


class _Spans(NamedTuple):
    """From which to which share of an edge; sorted, and apart from one another."""

    edge: Indices
    first: Floats
    last: Floats


def run_along(lines: MultiLineString, others: MultiLineString) -> Stretches:
    """Stretches of lines that run along others."""
    edges = _edges(lines)
    return _both(edges, _spans(edges, _edges(others), earlier=False))


def run_along_earlier(lines: MultiLineString) -> Stretches:
    """Stretches that run along an earlier line or back along their own; the rest lies once."""
    edges = _edges(lines)
    return _both(edges, _spans(edges, edges, earlier=True))


def _edges(lines: MultiLineString) -> _Edges:
    points, owner = shapely.get_coordinates(shapely.get_parts(lines), return_index=True)
    steps = np.diff(points, axis=0)
    kept = (owner[1:] == owner[:-1]) & steps.any(axis=1)
    arc = np.concatenate([[0.0], np.cumsum(np.hypot(*steps.T))])[: len(steps)]
    return _Edges(points[:-1][kept], points[1:][kept], owner[1:][kept], arc[kept])


def _spans(edges: _Edges, others: _Edges, *, earlier: bool) -> _Spans:
    found = [_shares(edges, others, *pair) for pair in _pairs(edges, others, earlier=earlier)]
    edge, first, last = (np.concatenate(one) for one in zip(_NONE, *found, strict=True))
    return _merged(edge, first, last)


_NONE = np.empty(0, dtype=np.intp), np.empty(0), np.empty(0)


def _pairs(edges: _Edges, others: _Edges, *, earlier: bool) -> Iterator[tuple[Indices, Indices]]:
    """Pairs of edges of nearly the same direction that come near one another, in batches."""
    first = _first_alike(others)
    mine, theirs = edges.sector, others.sector[first]
    for sector in range(_SECTORS):
        some = np.flatnonzero(mine == sector)
        turn = (theirs - sector) % _SECTORS
        among = first[(turn <= 1) | (turn == _SECTORS - 1)]
        if not len(some) or not len(among):
            continue
        batches = intersecting_batches(
            edges.drawn(some), others.drawn(among), "dwithin", distance=_NEAR
        )
        for i, j in batches:
            one, other = some[i], among[j]
            if earlier:
                wanted = _comes_after(edges, one, other)
                one, other = one[wanted], other[wanted]
            yield one, other


def _first_alike(edges: _Edges) -> Indices:
    """The first of all edges between the same two points; so many copies cost no more than one."""
    backward = (edges.start > edges.end)[:, 0] | (
        (edges.start[:, 0] == edges.end[:, 0]) & (edges.start[:, 1] > edges.end[:, 1])
    )
    ends = np.where(
        backward[:, None],
        np.hstack((edges.end, edges.start)),
        np.hstack((edges.start, edges.end)),
    )
    return np.sort(np.unique(ends, axis=0, return_index=True)[1])


def _comes_after(edges: _Edges, one: Indices, other: Indices) -> Booleans:
    """Test whether an edge may run along an earlier one and does not just go on from it."""
    directions = edges.end - edges.start
    onward = (directions[one] * directions[other]).sum(axis=1) > 0
    next_to = (edges.line[one] == edges.line[other]) & (edges.arc[one] - edges.arc[other] < _SHORT)
    return (other < one) & ~(onward & next_to)


def _shares(
    edges: _Edges, others: _Edges, one: Indices, other: Indices
) -> tuple[Indices, Floats, Floats]:
    """From where to where in each pair the one edge runs along the other."""
    start, way = others.start[other], others.end[other] - others.start[other]
    length = np.hypot(*way.T)
    x, y = (way / length[:, None]).T
    (u0, v0), (u1, v1) = (
        (x * dx + y * dy, x * dy - y * dx)
        for dx, dy in ((edges.start[one] - start).T, (edges.end[one] - start).T)
    )
    along = _between(u0, u1, -_NEAR, length + _NEAR)
    beside = _between(v0, v1, -_NEAR, _NEAR)
    first, last = np.maximum(along[0], beside[0]), np.minimum(along[1], beside[1])
    some = last - first > _SAME
    return one[some], first[some], last[some]


def _between(
    here: Floats, there: Floats, low: float | Floats, high: float | Floats
) -> tuple[Floats, Floats]:
    """Shares of the way from one value to another that lie between two bounds."""
    way = there - here
    level = np.abs(way) < _SAME
    inside = np.where((here >= low) & (here <= high), 1.0, -1.0)
    way = np.where(level, 1.0, way)
    one, two = (low - here) / way, (high - here) / way
    first = np.where(level, 0.0, np.minimum(one, two))
    last = np.where(level, inside, np.maximum(one, two))
    return np.clip(first, 0.0, 1.0), np.clip(last, 0.0, 1.0)


def _merged(edge: Indices, first: Floats, last: Floats) -> _Spans:
    if not len(edge):
        return _Spans(edge, first, last)
    order = np.lexsort((first, edge))
    edge, first, last = edge[order], first[order], last[order]
    reach = np.maximum.accumulate(last + 2.0 * edge)
    begins = np.concatenate([[True], (first + 2.0 * edge)[1:] > reach[:-1] + _SAME])
    ends = np.concatenate([begins[1:], [True]])
    return _Spans(edge[begins], first[begins], reach[ends] - 2.0 * edge[ends])


def _both(edges: _Edges, spans: _Spans) -> Stretches:
    every = np.arange(len(edges.line))
    edge = np.concatenate([every, spans.edge])
    first = np.concatenate([np.zeros(len(every)), spans.last])
    last = np.concatenate([np.ones(len(every)), spans.first])
    first, last = (values[np.lexsort((values, edge))] for values in (first, last))
    edge = np.sort(edge)
    open_ = last - first > _SAME
    gaps = _Spans(edge[open_], first[open_], last[open_])
    return Stretches(_joined(edges, spans), _joined(edges, gaps))


def _joined(edges: _Edges, spans: _Spans) -> MultiLineString:
    """Stretches of edges as lines; those that go on from one edge to the next as one line."""
    if not len(spans.edge):
        return as_lines([])
    line = edges.line[spans.edge]
    goes_on = (line[1:] == line[:-1]) & (np.diff(spans.edge) == 1)
    goes_on &= (spans.last[:-1] > 1 - _SAME) & (spans.first[1:] < _SAME)
    begins = np.concatenate([[True], ~goes_on])
    start, way = edges.start[spans.edge], (edges.end - edges.start)[spans.edge]
    points = np.stack([start + spans.first[:, None] * way, start + spans.last[:, None] * way], 1)
    kept = np.stack([begins, np.ones_like(begins)], axis=1).ravel()
    number = np.repeat(np.cumsum(begins) - 1, 2)
    found = shapely.linestrings(points.reshape(-1, 2)[kept], indices=number[kept])
    return as_lines(found[shapely.length(found) > _SHORT])
