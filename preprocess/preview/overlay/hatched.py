"""Areas that were swept before and are filled with rows of lines now."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import MultiPolygon

from preprocess.geometry.base.normalise import NOTHING, as_area, as_lines
from preprocess.geometry.overlay.booleans import cut_away, difference, union

if TYPE_CHECKING:
    from shapely import MultiLineString

_APART = 1.0
"""mm: lines farther apart than this do not fill an area."""

_REACH = 1.3
"""Distances between lines that a line fills to either side; rows may keep off the edge."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HatchedArea:
    """What lines fill now, how far apart they lie (mm; 0 when nothing is), and the rest."""

    area: MultiPolygon
    spacing: float
    removed: MultiPolygon
    lines: MultiLineString


def split_hatched(removed: MultiPolygon, lines: MultiLineString) -> HatchedArea:
    """Part what is no area any more into what new lines fill, and what is gone.

    Args:
        removed: area that is engraved no longer, mm.
        lines: new lines; those that fill it are left out of the result's `lines`.
    """
    parts = shapely.get_parts(removed)
    if not len(parts) or lines.is_empty:
        return HatchedArea(area=NOTHING, spacing=0.0, removed=removed, lines=lines)
    inside = shapely.intersection(parts, lines)
    lengths = shapely.length(inside)
    spacing = np.divide(
        shapely.area(parts), lengths, out=np.full(len(parts), 1e9), where=lengths > 0
    )
    full = spacing < _APART
    if not full.any():
        return HatchedArea(area=NOTHING, spacing=0.0, removed=removed, lines=lines)
    reach = shapely.buffer(inside[full], _REACH * spacing[full], quad_segs=2)
    filled = union([as_area(shapely.intersection(parts[full], reach))])
    return HatchedArea(
        area=filled,
        spacing=float(np.median(spacing[full])),
        removed=difference(removed, filled),
        lines=as_lines(cut_away(lines, filled)),
    )
