"""Dashes along a polyline: SVG 1.1, section 11.4, `stroke-dasharray` and `stroke-dashoffset`."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.geometry.base.polylines import arc_lengths, points_along
from preprocess.geometry.base.ranges import expand_ranges

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.arrays import Floats


MAX_DASHES = 100_000
"""A pattern so fine that a line would have more dashes is drawn as a line without gaps."""

_DOT = 1e-4
_SAME = 1e-12


def cut_into_dashes(
    points: Floats,
    pattern: Sequence[float],
    offset: float,
    *,
    closed: bool,
    most: int = MAX_DASHES,
) -> list[Floats]:
    """Cut a polyline into dashes.

    Args:
        points: N x 2; a closed line may repeat its first point at the end or not.
        pattern: lengths of dash, gap, dash …; an odd number of them is repeated once.
        offset: where in the pattern the line begins; may be negative.
        closed: whether the line returns to its first point; a dash that runs through that point
            is then one dash.
        most: dashes that one line may have.

    Returns:
        Dashes in order, k x 2 each. A dash of length 0 is a very short line, so that its square
        cap knows its direction. A pattern that is empty, sums to 0, has a negative length or more
        than `most` dashes on this line gives the whole line.
    """
    line = _line(points, closed=closed)
    lengths = np.asarray(pattern, dtype=np.float64)
    lengths = np.tile(lengths, 1 + len(lengths) % 2)
    along = arc_lengths(line)
    total, period = along[-1], lengths.sum()
    if not (lengths >= 0).all() or not 0 < period < np.inf or not total > 0:
        return [line]
    if total / period * len(lengths) / 2 > most:
        return [line]
    begin, end = _spans(lengths, offset % period, total)
    dashes = _cut(line, along, begin, end)
    if closed and len(dashes) > 1 and begin[0] == 0 and end[-1] == total:
        return [np.vstack((dashes[-1], dashes[0][1:])), *dashes[1:-1]]
    return dashes


def _line(points: Floats, *, closed: bool) -> Floats:
    line = np.asarray(points, dtype=np.float64).reshape(-1, 2)
    open_end = closed and len(line) > 1 and (line[0] != line[-1]).any()
    return np.vstack((line, line[:1])) if open_end else line


def _spans(lengths: Floats, offset: float, total: float) -> tuple[Floats, Floats]:
    """Starts and ends of dashes along the line, from 0 to `total`."""
    period, dot = lengths.sum(), _DOT * lengths.sum()
    ends = np.cumsum(lengths)
    begin, end = (ends - lengths)[::2], ends[::2]
    repeats = np.arange(int((total + offset) // period) + 1)[:, None] * period - offset
    begin, end = (repeats + begin).ravel(), (repeats + end).ravel()
    empty = end <= begin
    same = _SAME * total
    keep = ((end > same) | (empty & (end > -same))) & (begin < total - same)
    begin, end = np.where(empty, begin - dot / 2, begin), np.where(empty, end + dot / 2, end)
    return _joined(np.clip(begin[keep], 0, total), np.clip(end[keep], 0, total))


def _joined(begin: Floats, end: Floats) -> tuple[Floats, Floats]:
    """Dashes with no gap between them are one."""
    if not len(begin):
        return begin, end
    fresh = np.append([True], begin[1:] - end[:-1] > _SAME * end[-1])
    last = np.append(fresh[1:], [True])
    return begin[fresh], end[last]


def _cut(line: Floats, along: Floats, begin: Floats, end: Floats) -> list[Floats]:
    """Pieces of the line from each begin to its end, with the vertices between."""
    if not len(begin):
        return []
    first, stop = np.searchsorted(along, begin, side="right"), np.searchsorted(along, end)
    stop = np.maximum(first, stop)
    _, vertex = expand_ranges(first - 1, stop + 1)
    points = line[np.clip(vertex, 0, len(line) - 1)]
    ends = np.cumsum(stop - first + 2)
    points[np.append([0], ends[:-1])] = points_along(line, along, begin)
    points[ends - 1] = points_along(line, along, end)
    return np.split(points, ends[:-1])
