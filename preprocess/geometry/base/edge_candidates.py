"""Candidate pairs of edges and vertices that may be close, found by strips."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from preprocess.geometry.base.ranges import expand_ranges

if TYPE_CHECKING:
    from preprocess.arrays import Floats, Indices


class _Strips(NamedTuple):
    """Strips across y; a place is known by strip · stride + x."""

    left: float
    top: float
    height: float
    stride: float

    def of(self, y: Floats) -> Indices:
        """The number of the strip at each y."""
        return np.floor((y - self.top) / self.height).astype(np.intp)


def edge_vertex_candidates(start: Floats, end: Floats, within: float) -> tuple[Indices, Indices]:
    """Pairs (edge, vertex) of closed rings that may be closer than `within`; none is missing.

    The vertices are sorted by strips and then by x; each edge looks up its stretch of each strip.
    Strips are no thinner than the mean edge is high, so that few edges reach over many.

    Args:
        start: n x 2, the vertices, where the edges begin.
        end: n x 2, where they end: the same points in another order.
        within: more than 0.
    """
    (x0, y0), (x1, y1) = start.T.copy(), end.T.copy()
    low, high = np.minimum(y0, y1) - within, np.maximum(y0, y1) + within
    height = max(float(np.ptp(y0)) / np.sqrt(len(y0)), float(np.mean(high - low)))
    strips = _Strips(x0.min(), low.min(), height, 2 * float(np.ptp(x0)) + 1.0)
    key = strips.of(y0) * strips.stride + (x0 - strips.left)
    order = np.argsort(key, kind="stable")
    key = key[order]
    edge, strip = expand_ranges(strips.of(low), strips.of(high) + 1)
    ends = (x0[edge], y0[edge], x1[edge], y1[edge])
    before, after = _stretch(ends, strips.top + strip * height, height, within)
    base, slack = strip * strips.stride - strips.left, within + 1e-12 * key[-1]
    first = np.searchsorted(key, base + before - slack)
    stop = np.searchsorted(key, base + after + slack, side="right")
    pair, slot = expand_ranges(first, stop)
    return edge[pair], order[slot]


def _stretch(
    ends: tuple[Floats, Floats, Floats, Floats], top: Floats, height: float, within: float
) -> tuple[Floats, Floats]:
    """From where to where in x an edge runs between two heights, generously."""
    x0, y0, x1, y1 = ends
    level = np.abs(y1 - y0) <= within
    slope = (x1 - x0) / np.where(level, np.inf, y1 - y0)
    low, high = np.minimum(y0, y1), np.maximum(y0, y1)
    upper = x0 + (np.clip(top - within, low, high) - y0) * slope
    lower = x0 + (np.clip(top + height + within, low, high) - y0) * slope
    left = np.where(level, np.minimum(x0, x1), np.minimum(upper, lower))
    return left, np.where(level, np.maximum(x0, x1), np.maximum(upper, lower))
