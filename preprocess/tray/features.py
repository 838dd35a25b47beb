"""Features of a tray beside its pockets: card slots, notches, holes, crosses, a cut corner."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import LineString, MultiPolygon, Point, Polygon, box

from preprocess.geometry.base.normalise import NOTHING, as_area
from preprocess.geometry.offset.offset import grow_area, shrink_area
from preprocess.geometry.overlay.booleans import difference, union
from preprocess.tray.measures import RIM, WALL

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from preprocess.arrays import Floats

_AROUND_BARS = 2.0
"""mm of card beyond the bars."""

_ONE_CARD = 6.0
"""mm between bars that lie over one card."""

_NOTCH = (9.0, 7.0, 5.5)
"""Radii in mm tried for a finger notch."""

_HOLE = (4.0, 2.5, 1.5)
"""Radii in mm tried for the hole through which a part is pushed out."""

_LEDGE = 1.5
"""mm of floor around that hole."""

_ARM, _STROKE, _INSET = 3.0, 0.8, 5.0
"""mm: reach and width of a datum cross, and its distance from the edges of the tray."""

_CORNER = 5.0
_ROUND = 3.0


@dataclass(frozen=True, slots=True, kw_only=True)
class TrayFeatures:
    """Areas in artwork coordinates, mm: plate, card slots, notches, holes, datum crosses."""

    plate: MultiPolygon
    slots: MultiPolygon
    notches: MultiPolygon
    holes: MultiPolygon
    crosses: MultiPolygon
    points: tuple[tuple[float, float], tuple[float, float]]
    without_notch: int


def tray_features(
    outlines: Sequence[MultiPolygon], bars: Sequence[MultiPolygon], clearance: float
) -> TrayFeatures:
    """Lay out a tray around parts (outlines without holes) and bars; all in mm."""
    pockets = grow_area(union(outlines), clearance)
    slots = _slots(union(bars)) if bars else NOTHING
    left, top, right, bottom = shapely.total_bounds([g for g in (pockets, slots) if g.area > 0])
    frame = box(left - RIM, top - RIM, right + RIM, bottom + RIM)
    points = _points(frame)
    crosses = union([_cross(point) for point in points])
    plate = difference(frame.buffer(-_ROUND).buffer(_ROUND, quad_segs=12), _corner(frame))
    taken = union([slots, crosses])
    notches, without = _notches(outlines, pockets, taken, plate)
    holes = [hole for one in outlines for hole in _hole(one)]
    return TrayFeatures(
        plate=as_area(plate),
        slots=slots,
        notches=union(notches) if notches else NOTHING,
        holes=union(holes) if holes else NOTHING,
        crosses=crosses,
        points=points,
        without_notch=without,
    )


def _slots(bars: MultiPolygon) -> MultiPolygon:
    """A rectangle of card to each group of bars that lie close to one another."""
    near = grow_area(bars, _ONE_CARD / 2, join="mitre")
    cards = [
        box(*shapely.intersection(bars, group).bounds).buffer(_AROUND_BARS, join_style="mitre")
        for group in near.geoms
    ]
    return union(cards)


def _points(frame: Polygon) -> tuple[tuple[float, float], tuple[float, float]]:
    left, top, right, bottom = frame.bounds
    return (right - _INSET, top + _INSET), (left + _INSET, bottom - _INSET)


def _cross(point: tuple[float, float]) -> MultiPolygon:
    x, y = point
    half = _STROKE / 2
    arms = [
        box(x - _ARM, y - half, x + _ARM, y + half),
        box(x - half, y - _ARM, x + half, y + _ARM),
    ]
    return union(arms)


def _corner(frame: Polygon) -> Polygon:
    """The upper left corner, cut off to tell which way round the tray lies."""
    left, top, _, _ = frame.bounds
    return Polygon([(left, top), (left + _CORNER, top), (left, top + _CORNER)])


def _notches(
    outlines: Sequence[MultiPolygon], pockets: MultiPolygon, taken: MultiPolygon, plate: Polygon
) -> tuple[list[Polygon], int]:
    """Two grips to each part where there is room for both; how many parts have none."""
    room = shrink_area(as_area(plate), WALL)
    found: list[Polygon] = []
    without = 0
    for one in outlines:
        others = union([grow_area(difference(pockets, grow_area(one, 1.0)), WALL), taken])
        pair = next(
            (
                pair
                for pair in _grips(one)
                if all(room.covers(grip) and not grip.intersects(others) for grip in pair)
            ),
            None,
        )
        without += pair is None
        found += pair or ()
    return found, without


def _grips(outline: MultiPolygon) -> Iterator[tuple[Polygon, Polygon]]:
    """Pairs of discs at both ends of a line through the middle, across the part first."""
    whole = outline.convex_hull
    corners = shapely.get_coordinates(whole.minimum_rotated_rectangle)
    sides = np.diff(corners, axis=0)[:2]
    lengths = np.hypot(*sides.T)
    if not lengths.all():
        return
    for radius in _NOTCH:
        for axis in np.argsort(lengths, kind="stable").tolist():
            one, other = _ends(outline, sides[axis] / lengths[axis])
            yield one.buffer(radius, quad_segs=12), other.buffer(radius, quad_segs=12)


def _ends(outline: MultiPolygon, along: Floats) -> tuple[Point, Point]:
    middle = np.array(outline.centroid.coords[0])
    far = 2 * outline.length * along
    points = shapely.get_coordinates(
        shapely.intersection(LineString([middle - far, middle + far]), outline)
    )
    if not len(points):
        points = middle[None]
    order = np.argsort(points @ along, kind="stable")
    return Point(points[order[0]]), Point(points[order[-1]])


def _hole(outline: MultiPolygon) -> Iterator[Polygon]:
    """The largest hole under the middle of a part that leaves a ledge around it."""
    for radius in _HOLE:
        core = shrink_area(outline, radius + _LEDGE)
        if core.area > 0:
            middle = outline.centroid
            at = middle if core.covers(middle) else core.representative_point()
            yield at.buffer(radius, quad_segs=12)
            return
