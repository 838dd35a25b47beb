"""Offsets that lose no bridges and close no counters.

What the move would break or close stays as drawn, and is told. Outward is inward for the ground
around: a counter is a part of the ground that would vanish, a gap is a bridge of it.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

import shapely
from shapely import MultiPolygon, Polygon

from preprocess.geometry.base.intersecting_pairs import intersecting_pairs
from preprocess.geometry.base.normalise import as_area, polygons_of
from preprocess.geometry.offset.offset import shrink_area
from preprocess.geometry.offset.opening import opening_residue
from preprocess.geometry.overlay.booleans import difference, intersection, union
from preprocess.geometry.overlay.components import groups_within

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.arrays import Geometries

_FAR = 10.0
"""A tip that would retreat by more than this many moves (half angle below 5.2°) stays as drawn."""

_AROUND = 1.5
"""Moves beyond a bridge within which the drawn edge stays, so that it meets what has moved."""

_TOUCH = 0.02
"""Moves within which a thin place is taken to meet what is wide enough."""

_ROOM = 6.0
"""Moves of ground that are looked at around an area."""


class KeptKind(StrEnum):
    """Kind of place that stayed as drawn."""

    PART = "part"
    BRIDGE = "bridge"
    END = "thin end"
    COUNTER = "counter"
    GAP = "gap"
    NOTCH = "notch"


_OUTSIDE = {
    KeptKind.PART: KeptKind.COUNTER,
    KeptKind.BRIDGE: KeptKind.GAP,
    KeptKind.END: KeptKind.NOTCH,
}
"""Kind of a thin place of the ground, seen from the area."""


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptPlace:
    """A place that stayed as drawn, with a point in it (mm)."""

    kind: KeptKind
    at: tuple[float, float]


def offset_safely(area: MultiPolygon, inward: float) -> tuple[MultiPolygon, tuple[KeptPlace, ...]]:
    """Offset the edges of an area inward by some mm, outward if negative; corners are kept."""
    if area.is_empty or not inward:
        return area, ()
    return _inward(area, inward) if inward > 0 else _outward(area, -inward)


def share_offset(
    areas: Sequence[MultiPolygon], whole: MultiPolygon, inward: float
) -> list[MultiPolygon]:
    """Share the offset union among its areas; what was added goes to the nearest ones."""
    if inward > 0:
        return [intersection(area, whole) for area in areas]
    rim = difference(whole, union(areas))
    found = []
    for area in areas:
        near = shapely.buffer(area, -inward * (1 + _TOUCH), join_style="mitre")
        found.append(union([area, intersection(rim, near)]))
        rim = difference(rim, near)
    found[0] = union([found[0], rim])
    return found


def _inward(area: MultiPolygon, by: float) -> tuple[MultiPolygon, tuple[KeptPlace, ...]]:
    left = opening_residue(area, 2 * by)
    results: list[shapely.Geometry] = []
    kept: list[KeptPlace] = []
    for index, part in enumerate(left.parts):
        moved, mine = _part_inward(part, left.cores[index], left.pieces[left.owner == index], by)
        results.append(moved)
        kept += mine
    return as_area(results), tuple(kept)


def _part_inward(
    part: Polygon, wide: shapely.Geometry, thin: Geometries, by: float
) -> tuple[shapely.Geometry, list[KeptPlace]]:
    """One part; `wide` is what of it is at least twice as wide as the move, `thin` the rest.

    Mitres between two edges that meet at a dent reach farther than the move, and may part what
    hangs together; then dents are rounded instead.
    """
    core = shrink_area(MultiPolygon([part]), by)
    if core.is_empty:
        return part, [_kept(KeptKind.PART, part)]
    if _form(core) != _form(part):
        thin = polygons_of(shapely.difference(part, wide))
    kinds = [_kind(piece, wide, by) for piece in thin]
    stay = [(piece, kind) for piece, kind in zip(thin, kinds, strict=True) if kind is not None]
    moved = _with_drawn(part, core, stay, by)
    if _form(moved) == _form(part):
        return moved, [_kept(kind, piece) for piece, kind in stay]
    core = shrink_area(MultiPolygon([part]), by, join="round")
    for more in ([], [(place, KeptKind.BRIDGE) for place in _meetings(part, by)]):
        moved = _with_drawn(part, core, [*stay, *more], by)
        if _form(moved) == _form(part):
            return moved, [_kept(kind, piece) for piece, kind in (*stay, *more)]
    return part, [_kept(KeptKind.PART, part)]


def _with_drawn(
    part: Polygon, core: MultiPolygon, stay: Sequence[tuple[Polygon, KeptKind]], by: float
) -> MultiPolygon:
    """Moved area, with the drawn edges around places that stay."""
    if not stay:
        return core
    around = shapely.buffer([piece for piece, _ in stay], _AROUND * by, quad_segs=2)
    return union([core, *(intersection(part, one) for one in around)])


def _meetings(part: Polygon, by: float) -> list[Polygon]:
    """Places where edges of holes would meet one another or the outer edge, even by a touch."""
    rings = shapely.get_rings(part)
    bands = shapely.buffer(rings, by, quad_segs=4)
    one, two = intersecting_pairs(rings, rings, "dwithin", 2 * by)
    one, two = one[one < two], two[one < two]
    return list(union(shapely.intersection(bands[one], bands[two])).geoms)


def _form(area: Polygon | MultiPolygon) -> tuple[int, int]:
    """Numbers of connected areas and of holes in them."""
    parts = shapely.get_parts(area)
    return len(parts), int(shapely.get_num_interior_rings(parts).sum())


def _kind(piece: Polygon, wide: shapely.Geometry, by: float) -> KeptKind | None:
    """Kind of a thin place: a bridge, a long end, or a tip that may retreat."""
    ends = shapely.intersection(shapely.boundary(piece), shapely.buffer(wide, _TOUCH * by))
    if len(shapely.get_parts(shapely.buffer(ends, _TOUCH * by))) > 1:
        return KeptKind.BRIDGE
    depth = shapely.distance(shapely.points(shapely.get_coordinates(piece)), wide).max()
    return KeptKind.END if depth > _FAR * by else None


def _kept(kind: KeptKind, piece: shapely.Geometry) -> KeptPlace:
    at = shapely.point_on_surface(piece)
    return KeptPlace(kind=kind, at=(float(at.x), float(at.y)))


def _outward(area: MultiPolygon, by: float) -> tuple[MultiPolygon, tuple[KeptPlace, ...]]:
    """By moving the ground inward, for each group of parts that may meet."""
    parts = list(area.geoms)
    results: list[shapely.Geometry] = []
    kept: list[KeptPlace] = []
    for group in groups_within(parts, 2 * by * (1 + _TOUCH)):
        grown, mine = _grown(as_area([parts[i] for i in group]), by)
        results.append(grown)
        kept += (KeptPlace(kind=_OUTSIDE[one.kind], at=one.at) for one in mine)
    return as_area(results), tuple(kept)


def _grown(area: MultiPolygon, by: float) -> tuple[MultiPolygon, tuple[KeptPlace, ...]]:
    left, top, right, bottom = area.bounds
    room = _ROOM * by
    frame = shapely.box(left - room, top - room, right + room, bottom + room)
    ground, kept = _inward(difference(frame, area), by)
    return difference(shapely.buffer(frame, -2 * by, join_style="mitre"), ground), kept
