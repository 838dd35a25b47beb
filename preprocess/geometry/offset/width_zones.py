"""Zones by local width: openings at thresholds; crumbs, too low for rows, join a neighbour."""

from __future__ import annotations

import math
from functools import partial
from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.geometry.base.normalise import NO_LINES, as_lines
from preprocess.geometry.base.row_frame import RowFrame
from preprocess.geometry.offset.opening import (
    inscribed_widths,
    opening_residue,
    outline_edges,
    residue_of_parts,
)
from preprocess.geometry.overlay.partition import (
    coverage_union,
    longest_neighbour,
    partition_area,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from shapely import MultiLineString, MultiPolygon

    from preprocess.arrays import Booleans, Floats, Geometries, Integers
    from preprocess.geometry.offset.opening import Residue


_HALVINGS = 9
"""Halvings of the interval in which a width is sought."""

_ROUGH = 80.0
"""Discs are drawn this roughly while the narrowest width is sought."""

_FEW = 50
"""Parts among which the narrowest width is sought before all others are asked."""

_BEYOND = 1e-4
"""mm by which a cut is drawn out beyond the outline, so that it surely parts the area."""


def width_range(area: MultiPolygon, least: float) -> tuple[float, float]:
    """Narrowest and widest local width of an area, mm; nothing counts below `least`.

    The narrowest is the largest width whose opening leaves all but corners standing.
    """
    parts = shapely.get_parts(area)
    if not len(parts):
        return least, least
    widest = max(least, float(inscribed_widths(parts, least / 100).max()))
    return _narrowest(parts, least, widest), widest


def _narrowest(parts: Geometries, least: float, widest: float) -> float:
    """Sought among a few parts; the others are asked once, and those that object join the few."""
    few, others = parts[:_FEW], parts[_FEW:]
    found = _largest(least, widest, partial(_agreed, few))
    while found > least and len(others):
        objecting = _objecting(others, found)
        if not objecting.any():
            break
        few, others = np.concatenate((few, others[objecting])), others[~objecting]
        found = _largest(least, widest, partial(_agreed, few))
    return found


def zones_by_local_width(
    area: MultiPolygon, thresholds: Floats, *, least_height: float, angle: float
) -> dict[int, MultiPolygon]:
    """Tile an area by local width: level 1 is at least thresholds[0] wide, the last the narrowest.

    Args:
        area: what to cut, mm.
        thresholds: widths in mm, descending.
        least_height: zones lower than this, measured across the rows (mm), join a neighbour.
        angle: scan angle in degrees.

    Returns:
        Level to its area; together they are the area.
    """
    left = [_high_enough(opening_residue(area, w), least_height, angle) for w in thresholds]
    pieces = np.concatenate([entry.pieces for entry in left])
    level = np.repeat(np.arange(2, len(left) + 2), [len(entry.pieces) for entry in left])
    tree = shapely.STRtree(pieces)

    def classify(points: Floats) -> Integers:
        found = np.ones(len(points), dtype=np.int64)
        point, piece = tree.query(shapely.points(points), predicate="intersects")
        np.maximum.at(found, point, level[piece])
        return found

    zones = partition_area(area, _cuts(left), classify)
    return _low_ones_joined(zones, least_height, angle)


def _largest(low: float, high: float, holds: Callable[[float], bool]) -> float:
    """The largest width between two that something holds for; `low` when it never does."""
    if high <= low or not holds(low * 1.02):
        return low
    for _ in range(_HALVINGS):
        middle = math.sqrt(low * high)
        low, high = (middle, high) if holds(middle) else (low, middle)
    return low


def _agreed(parts: Geometries, width: float) -> bool:
    """Test whether an opening takes no more than corners of each."""
    return not _objecting(parts, width).any()


def _objecting(parts: Geometries, width: float) -> Booleans:
    """Of which parts an opening takes more than corners."""
    left = residue_of_parts(parts, np.full(len(parts), width), max(0.001, width / _ROUGH))
    found = np.zeros(len(parts), dtype=bool)
    found[left.owner] = True
    return found


def _height(shapes: Geometries, angle: float) -> Floats:
    """Extent of each shape across the rows."""
    if not len(shapes):
        return np.empty(0)
    points, shape = shapely.get_coordinates(shapes, return_index=True)
    _, across = RowFrame(angle).to_uv(*points.T)
    begins = np.searchsorted(shape, np.arange(len(shapes)))
    return np.maximum.reduceat(across, begins) - np.minimum.reduceat(across, begins)


def _high_enough(left: Residue, least: float, angle: float) -> Residue:
    return left.only(_height(left.pieces, angle) >= least)


def _cuts(left: Sequence[Residue]) -> MultiLineString:
    """The necks of all residue, drawn out a little at both ends."""
    pieces = np.concatenate([entry.pieces for entry in left])
    owner = np.concatenate([entry.owner for entry in left])
    edges, piece, free = outline_edges(pieces, left[0].parts[np.unique(owner)])
    if free.all():
        return NO_LINES
    _, number = np.unique(piece[~free], return_inverse=True)
    drawn = shapely.multilinestrings(shapely.linestrings(edges[~free]), indices=number)
    return as_lines(_drawn_out(shapely.get_parts(shapely.line_merge(drawn))))


def _drawn_out(lines: Geometries) -> Geometries:
    """Open lines, longer at both ends."""
    points, line = shapely.get_coordinates(lines, return_index=True)
    first = np.searchsorted(line, np.arange(len(lines)))
    last = np.append(first[1:], len(points)) - 1
    drawn = np.flatnonzero(~shapely.is_closed(lines))
    first, last = first[drawn], last[drawn]
    ends, nexts = np.concatenate((last, first)), np.concatenate((last - 1, first + 1))
    away = points[ends] - points[nexts]
    beyond = points[ends] + _BEYOND * away / np.hypot(*away.T)[:, None]
    places = np.concatenate((last + 1, first))
    index = np.insert(line, places, np.tile(drawn, 2))
    return shapely.linestrings(np.insert(points, places, beyond, axis=0), indices=index)


def _low_ones_joined(
    zones: dict[int, MultiPolygon], least: float, angle: float
) -> dict[int, MultiPolygon]:
    """Give zones that are too low to the neighbour that they share most of their outline with."""
    parts, owner = shapely.get_parts(
        np.array(list(zones.values()), dtype=object), return_index=True
    )
    level = np.array(list(zones))[owner]
    low = np.flatnonzero(_height(parts, angle) < least)
    tree = shapely.STRtree(parts)
    for index in low:
        other = longest_neighbour(parts, tree, int(index))
        if other is not None:
            level[index] = level[other]
    if not len(low):
        return zones
    return {int(value): coverage_union(parts[level == value]) for value in np.unique(level)}
