"""Which points come close to which edges, for many of both."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.geometry.ranges import spread

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Ints = NDArray[np.intp]


def close_boxes(start: Floats, end: Floats, points: Floats, within: float) -> tuple[Ints, Ints]:
    """Pairs (edge, point) where the point lies in the edge's box grown by `within`.

    The points are sorted by strips across y and then by x, so that each edge looks up a range.
    Strips are no thinner than the mean edge is high, so that few edges reach over many.

    Args:
        start: m x 2, where the edges begin.
        end: m x 2, where they end.
        points: n x 2.
        within: more than 0.
    """
    low, high = np.minimum(start, end) - within, np.maximum(start, end) + within
    left, top = points.min(axis=0) - within
    width, depth = points.max(axis=0) + within - (left, top)
    strip = max(depth / np.sqrt(len(points)), float(np.mean(high[:, 1] - low[:, 1])))
    step = 2 * width + 1.0
    key = np.floor((points[:, 1] - top) / strip) * step + (points[:, 0] - left)
    order = np.argsort(key, kind="stable")
    key = key[order]
    upper, lower = np.floor((np.stack((low[:, 1], high[:, 1])) - top) / strip).astype(np.intp)
    edge, row = spread(upper, lower + 1)
    base, slack = row * step - left, 1e-12 * key[-1]
    first = np.searchsorted(key, base + low[edge, 0] - slack)
    stop = np.searchsorted(key, base + high[edge, 0] + slack, side="right")
    pair, slot = spread(first, stop)
    edge, point = edge[pair], order[slot]
    inside = (points[point] >= low[edge]) & (points[point] <= high[edge])
    return edge[inside.all(axis=1)], point[inside.all(axis=1)]
