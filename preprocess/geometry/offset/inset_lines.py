"""Lines just inside the edges of areas; where two areas share a border, it has one line."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.geometry.base.intersecting_pairs import intersecting_pairs
from preprocess.geometry.base.normalise import as_area, as_lines
from preprocess.geometry.offset.offset import shrink_area
from preprocess.geometry.offset.outlines import lines_outside

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import MultiLineString, MultiPolygon

_SAME = 1e-4
"""mm by which two edges may miss one another and be one border: what the writer rounds to."""

_LEAST = 0.02
"""mm: where edges run together for less than this, they only meet or cross."""

_SLACK = 0.002
"""mm beyond the inset within which a line goes: offsets hold to 0.001 mm on either side."""


def inset_outlines(areas: Sequence[MultiPolygon], inset: float) -> list[MultiLineString]:
    """Outlines of areas drawn in by `inset` mm, corners kept; empty where they are too thin.

    Of a border that an area shares with earlier ones the line is left out, so that these have it.
    """
    if not areas:
        return []
    found = [_rings(shrink_area(area, inset)) for area in areas]
    every = np.array(areas, dtype=object)
    near = np.stack(intersecting_pairs(every, every, "dwithin", _SAME), axis=1)
    for later, earlier in sorted(near.tolist()):
        if earlier < later:
            border = _shared(areas[later], areas[earlier])
            taken = shapely.buffer(border, inset + _SLACK, cap_style="flat")
            found[later] = _worth(lines_outside(found[later], as_area(taken)))
    return found


def _rings(area: MultiPolygon) -> MultiLineString:
    return as_lines(shapely.linestrings(shapely.get_coordinates(r)) for r in _all_rings(area))


def _all_rings(area: MultiPolygon) -> list[shapely.LinearRing]:
    return list(shapely.get_rings(shapely.get_parts(area)))


def _shared(one: MultiPolygon, other: MultiPolygon) -> shapely.Geometry:
    """Common stretches of the edges of two areas."""
    band = shapely.buffer(shapely.boundary(other), _SAME, quad_segs=1)
    stretches = shapely.intersection(shapely.boundary(one), band)
    merged = shapely.get_parts(shapely.line_merge(as_lines(stretches)))
    return as_lines(merged[shapely.length(merged) >= _LEAST])


def _worth(lines: MultiLineString) -> MultiLineString:
    """Without crumbs that a cut leaves at corners."""
    parts = shapely.get_parts(lines)
    return as_lines(parts[np.asarray(shapely.length(parts) > 2 * _SLACK)])
