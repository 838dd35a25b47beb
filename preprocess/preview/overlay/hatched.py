"""Areas that were swept before and are filled with rows of lines now."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import MultiPolygon

from preprocess.geometry.base.intersecting_pairs import intersecting_pairs
from preprocess.geometry.base.normalise import NOTHING, as_area, as_lines
from preprocess.geometry.overlay.booleans import difference, union

if TYPE_CHECKING:
    from collections.abc import Iterator

    from shapely import MultiLineString

    from preprocess.arrays import Booleans, Geometries

_APART = 1.0
"""mm: lines farther apart than this do not fill an area."""

_REACH = 1.3
"""Distances between lines that a line fills to either side; rows may keep off the edge."""

_FEW = 3
"""So many parallel lines, or fewer, are not looked at by themselves."""

_END = 1e-3
"""mm at the end of a row that may lie outside by rounding."""

_QUARTER = 0.25
_SECTORS = 3600
"""Sectors that half a turn has; rows within three of them count as parallel."""

_BOTH_SIDES = 2
_MOST = 16
"""Directions that are looked at by themselves."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HatchedArea:
    """Areas filled by lines, the lines' spacing (mm; 0 where nothing is filled), and the rest."""

    area: MultiPolygon
    spacing: float
    removed: MultiPolygon
    lines: MultiLineString


def split_hatched(removed: MultiPolygon, lines: MultiLineString) -> HatchedArea:
    """Part what is no area any more into what new lines fill, and what is gone.

    Rows of one direction are looked at together, and before others, for what they fill need not be
    filled by rows across them.

    Args:
        removed: area that is engraved no longer, mm.
        lines: new lines; those that fill it are left out of the result's `lines`.
    """
    filled: list[MultiPolygon] = []
    spacings: list[float] = []
    for rows in _by_direction(lines) if not removed.is_empty else ():
        areas, apart = _filled(shapely.get_parts(removed), rows)
        if areas:
            filled.append(union(areas))
            spacings += apart
            removed = difference(removed, filled[-1])
    area = union(filled) if filled else NOTHING
    return HatchedArea(
        area=area,
        spacing=float(np.median(spacings)) if spacings else 0.0,
        removed=removed,
        lines=as_lines(_outside(shapely.get_parts(lines), area)) if filled else lines,
    )


def _by_direction(lines: MultiLineString) -> Iterator[Geometries]:
    """Straight lines by direction, the longest set first; then all others together."""
    parts = shapely.get_parts(lines)
    straight = shapely.get_num_coordinates(parts) == 2  # noqa: PLR2004
    rows = parts[straight]
    for _ in range(_MOST):
        alike = _parallel(rows)
        if np.count_nonzero(alike) <= _FEW:
            break
        yield rows[alike]
        rows = rows[~alike]
    others = np.concatenate([parts[~straight], rows])
    if len(others):
        yield others


def _parallel(rows: Geometries) -> Booleans:
    """Those of the direction that has most length."""
    x, y = np.diff(shapely.get_coordinates(rows).reshape(-1, 2, 2), axis=1)[:, 0].T
    sector = np.floor(np.arctan2(y, x) / np.pi * _SECTORS).astype(np.intp) % _SECTORS
    length = np.bincount(sector, np.hypot(x, y), _SECTORS)
    middle = int(np.argmax(length + np.roll(length, 1) + np.roll(length, -1)))
    return (sector - middle + 1) % _SECTORS <= _BOTH_SIDES


def _filled(parts: Geometries, rows: Geometries) -> tuple[list[MultiPolygon], list[float]]:
    """Of each part that rows fill what they fill, and how far apart they lie there."""
    part, row = intersecting_pairs(parts, rows, "intersects")
    shapely.prepare(parts)
    # most rows lie inside, which is quicker to ask than to cut them
    inside = shapely.covers(parts[part], _without_ends(rows)[row])
    cut, pair = shapely.get_parts(
        shapely.intersection(parts[part[~inside]], rows[row[~inside]]), return_index=True
    )
    pieces = np.concatenate([rows[row[inside]], cut])
    owner = np.concatenate([part[inside], part[~inside][pair]])
    lengths = shapely.length(pieces)
    total = np.bincount(owner, lengths, len(parts))
    spacing = np.divide(shapely.area(parts), total, out=np.full(len(parts), 1e9), where=total > 0)
    full = np.flatnonzero(spacing < _APART)
    reach = shapely.buffer(pieces, _REACH * spacing[owner], quad_segs=2)
    areas = [
        as_area(shapely.intersection(parts[i], shapely.union_all(reach[owner == i]))) for i in full
    ]
    return areas, spacing[full].tolist()


def _without_ends(lines: Geometries) -> Geometries:
    """Straight lines less a micrometre at ends, which may lie on an edge; others as they are."""
    found = lines.copy()
    straight = shapely.get_num_coordinates(lines) == 2  # noqa: PLR2004
    ends = shapely.get_coordinates(lines[straight]).reshape(-1, 2, 2)
    way = ends[:, 1] - ends[:, 0]
    off = way * np.minimum(_END / np.maximum(np.hypot(*way.T), _END), _QUARTER)[:, None]
    found[straight] = shapely.linestrings(np.stack((ends[:, 0] + off, ends[:, 1] - off), axis=1))
    return found


def _outside(lines: Geometries, area: MultiPolygon) -> Geometries:
    """Rest of each line outside an area."""
    shapely.prepare(area)
    out = lines[~shapely.covered_by(lines, area)]
    return shapely.difference(out, area)
