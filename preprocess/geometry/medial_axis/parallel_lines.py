"""Parallel lines to score along a hairline, to the very tip; several where it is wider."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.geometry.base.normalise import NO_LINES, as_lines
from preprocess.geometry.base.polylines import arc_lengths, points_along, ring_edges
from preprocess.geometry.base.ranges import expand_ranges

if TYPE_CHECKING:
    from collections.abc import Iterator

    from shapely import LineString, MultiLineString, MultiPolygon

    from preprocess.arrays import Floats, Geometries, Integers
    from preprocess.geometry.medial_axis.centre_lines import Hairlines
    from preprocess.geometry.medial_axis.strokes import CentreLine


_SPARE = 0.1
"""Share of a stroke that may stay unmarked at the edges before another stroke is added."""

_SHORT = 4.0
"""A run of strokes shorter than this many times their width goes with its neighbour."""

_OUT = 1e-3
"""mm by which ends are drawn out beyond the outline before they are cut off at it."""

_STRAIGHT = 1e-4
"""mm by which points may lie off the line when those that are not needed are left out."""

_SPECK = 1e-3
"""Pieces of lines shorter than this, mm, are what cutting leaves where two outlines meet."""

_TOUCH = 1e-9
"""mm below which two places along a line are one."""

_TIE = 1e-4
"""Strokes by which rounding may widen a hairline: it needs no line more for that."""

_STEPS = 8.0
"""Into how many steps the width of a stroke is divided where hairlines grow wider."""

_MITRE = 2.0
"""Factor on the outward shift of a corner, against that of a straight stretch."""


def parallel_lines(found: Hairlines, stroke: float | None, most: int) -> MultiLineString:
    """Lines that lie in the thin part of an area.

    Args:
        found: the thin part and its centre lines.
        stroke: how wide a scored line marks, mm; without it one line runs along the middle.
        most: how many lines may lie side by side.
    """
    if not found.strokes:
        return NO_LINES
    lines = as_lines([line for one in found.strokes for line in _of(one, stroke, most)])
    cut = _inside(shapely.get_parts(lines), found.thin)
    return as_lines(list(cut[shapely.length(cut) > _SPECK]))


def _inside(lines: Geometries, area: MultiPolygon) -> Geometries:
    """Each line cut off at the outline by itself: together, they would be cut where they cross."""
    shapely.prepare(area)
    edges = shapely.linestrings(ring_edges(shapely.get_parts(area)))
    line, edge = shapely.STRtree(edges).query(lines, predicate="intersects")
    met = np.split(edge[np.argsort(line, kind="stable")], _stops(line, len(lines)))
    found = np.array(
        [
            piece
            for one, across in zip(lines, met, strict=True)
            for piece in (_divided(one, edges[across]) if len(across) else (one,))
        ],
        dtype=object,
    )
    middle = shapely.line_interpolate_point(found, 0.5, normalized=True)
    return found[shapely.intersects(area, middle)]


def _stops(index: Integers, number: int) -> Integers:
    return np.cumsum(np.bincount(index, minlength=number))[:-1]


def _divided(line: LineString, across: Geometries) -> Iterator[LineString]:
    """Pieces of a line between the places where others cross it."""
    met = shapely.get_parts(shapely.intersection(line, across))
    where = np.unique(shapely.line_locate_point(line, shapely.points(shapely.get_coordinates(met))))
    points = shapely.get_coordinates(line)
    way = arc_lengths(points)
    for start, stop in pairwise([0.0, *where.tolist(), float(way[-1])]):
        if stop - start > _SPECK:
            inner = points[(way > start + _TOUCH) & (way < stop - _TOUCH)]
            first, last = points_along(points, way, np.array([start, stop]))
            yield shapely.linestrings(np.vstack((first, inner, last)))


def _of(one: CentreLine, stroke: float | None, most: int) -> Iterator[LineString]:
    line = _drawn_out(one)
    if stroke is not None:
        line = _stepped(*line, stroke / _STEPS)
    count = np.ones(len(line[0]), dtype=np.int64)
    if stroke is not None:
        count = np.clip(np.ceil(line[1] / stroke - _SPARE - _TIE), 1, most).astype(np.int64)
    for start, stop, number in _runs(line[0], count, _SHORT * (stroke or 0.0)):
        points, width = line[0][start : stop + 1], line[1][start : stop + 1]
        for share in np.linspace(-1, 1, number) if number > 1 else (0.0,):
            out = np.maximum(width - (stroke or 0.0), 0) / 2 * share
            yield shapely.simplify(shapely.linestrings(_beside(points, out)), _STRAIGHT)


def _stepped(points: Floats, width: Floats, step: float) -> tuple[Floats, Floats]:
    """The same with points in between, so that the width never changes by more than a step."""
    count = np.maximum(1, np.ceil(np.abs(np.diff(width)) / step)).astype(int)
    edge, number = expand_ranges(np.zeros_like(count), count)
    places = np.append(edge + number / count[edge], len(count))
    vertices = np.arange(float(len(width)))
    return points_along(points, vertices, places), np.interp(places, vertices, width)


def _drawn_out(one: CentreLine) -> tuple[Floats, Floats]:
    """Points and widths with the tips drawn out beyond the outline."""
    points, width = one.points, one.width
    for end in (0, 1):
        if one.tips[end]:
            reach = width[0] / 2
            tip = points[0] + _away(points, reach) * (reach + _OUT)
            points, width = np.vstack((tip, points)), np.concatenate((width[:1], width))
        points, width = points[::-1], width[::-1]
    return points, width


def _away(points: Floats, reach: float) -> Floats:
    """Direction out of the first point, judged over the reach there."""
    far = np.hypot(*(points - points[0]).T) >= reach
    back = points[int(np.argmax(far))] if far.any() else points[-1]
    along = points[0] - back
    return along / max(float(np.hypot(*along)), 1e-12)


def _runs(points: Floats, count: Integers, least: float) -> list[tuple[int, int, int]]:
    """Stretches of points from, to, and their count; short ones take that of the longer beside."""
    way = arc_lengths(points)
    count = count[:-1].copy()
    runs = _equal(count)
    while len(runs) > 1:
        lengths = [float(way[stop] - way[start]) for start, stop, _ in runs]
        short = int(np.argmin(lengths))
        if lengths[short] >= least:
            break
        beside = [i for i in (short - 1, short + 1) if 0 <= i < len(runs)]
        longer = max(beside, key=lambda i: lengths[i])
        start, stop, _ = runs[short]
        count[start:stop] = runs[longer][2]
        runs = _equal(count)
    return runs


def _equal(count: Integers) -> list[tuple[int, int, int]]:
    starts = np.concatenate(([0], np.flatnonzero(np.diff(count)) + 1)).tolist()
    return [(a, b, int(count[a])) for a, b in pairwise([*starts, len(count)])]


def _beside(points: Floats, out: Floats) -> Floats:
    """A line beside another: each point moved square to the line."""
    if not out.any():
        return points
    step = np.diff(points, axis=0)
    unit = step / np.maximum(np.hypot(*step.T), 1e-12)[:, None]
    before, after = np.vstack((unit[:1], unit)), np.vstack((unit, unit[-1:]))
    if (points[0] == points[-1]).all():
        before[0], after[-1] = unit[-1], unit[0]
    mean = before + after
    mean /= np.maximum(np.hypot(*mean.T), 1e-12)[:, None]
    mitre = np.minimum(_MITRE, 1 / np.maximum((mean * before).sum(axis=1), 1e-12))
    return points + (out * mitre)[:, None] * np.stack((-mean[:, 1], mean[:, 0]), axis=1)
