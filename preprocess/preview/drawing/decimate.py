"""Entries made coarser for the eye, so that a picture of very fine artwork stays small.

Only the picture is touched: amounts, insets and the output come from the artwork itself.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import MultiLineString, MultiPolygon

from preprocess.geometry.base.sweep import sweep_area, sweep_contours
from preprocess.preview.drawing.canvas import SHEET_TOLERANCE

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.geometry.base.sweep import Runs
    from preprocess.preview.drawing.entries import LegendEntry

POINTS = 90_000
"""Points that a picture may have: each takes some 13 bytes."""

_FEW = 2_000
"""Entries with fewer points are drawn as they are."""

_STEPS = (0.2, 0.4, 0.8, 1.6)
"""mm on the sheet: heights of the strips that very fine artwork is drawn in."""


_SAMPLES = 5
"""Rows that are looked at in each strip."""


def decimate(entries: Sequence[LegendEntry], scale: float) -> tuple[list[LegendEntry], float]:
    """Entries to draw, and how wide gaps on the sheet are drawn closed (mm; 0 for none).

    Args:
        entries: what is to be drawn.
        scale: sheet mm per mm.
    """
    shown = [entry for entry in entries if not entry.hidden]
    if _points(shown, SHEET_TOLERANCE / scale) <= POINTS:
        return shown, 0.0
    for step in _STEPS:
        coarse = [_in_strips(entry, step / scale) for entry in shown]
        if _points(coarse, 0.0) <= POINTS:
            break
    return coarse, step


def _points(entries: Sequence[LegendEntry], tolerance: float) -> int:
    return sum(
        int(shapely.get_num_coordinates(shapely.simplify(entry.geometry, tolerance)))
        * len(entry.paint.layers())
        for entry in entries
    )


def _in_strips(entry: LegendEntry, high: float) -> LegendEntry:
    """Drawn as strips so high that begin and end on a grid as wide; lines become strips too."""
    geometry = entry.geometry
    if int(shapely.get_num_coordinates(geometry)) < _FEW:
        return entry
    _, top, _, bottom = geometry.bounds
    count = math.ceil((bottom - top) / high)
    rows = top + high / _SAMPLES * (np.arange(count * _SAMPLES) + 0.5)
    if isinstance(geometry, MultiLineString):
        paint = replace(entry.paint, fill=entry.paint.stroke, stroke="none", dash="")
        bands = shapely.buffer(shapely.get_parts(geometry), high / 2, quad_segs=1)
        contours = [shapely.get_coordinates(ring) for ring in shapely.get_rings(bands)]
        runs = sweep_contours(contours, "nonzero", rows)
        return replace(entry, geometry=_strips(runs, top, high), paint=paint)
    paint = replace(entry.paint, stroke="none")
    return replace(entry, geometry=_strips(sweep_area(geometry, rows), top, high), paint=paint)


def _strips(runs: Runs, top: float, high: float) -> MultiPolygon:
    """One rectangle to each stretch of a strip that its samples light, on the grid."""
    strip = runs.row // _SAMPLES
    left, right = np.floor(runs.start / high), np.ceil(runs.end / high)
    order = np.lexsort((left, strip))
    strip, left, right = strip[order], left[order], right[order]
    apart = strip * (np.ptp(np.concatenate((left, right))) + 2 if len(left) else 0.0)
    reached = np.maximum.accumulate(right + apart)
    fresh = np.append(True, left[1:] + apart[1:] > reached[:-1])[: len(left)]
    first = np.flatnonzero(fresh)
    last = np.append(first[1:], len(left))[: len(first)] - 1
    y, end = top + strip[first] * high, reached[last] - apart[first]
    return shapely.multipolygons(shapely.box(left[first] * high, y, end * high, y + high))
