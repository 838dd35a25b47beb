"""Inset of tips: how far the narrow ends of an area move, and what came of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import Polygon

from preprocess.geometry.base.normalise import as_area
from preprocess.geometry.base.polylines import ring_edges
from preprocess.geometry.offset.erosion import erode_parts
from preprocess.geometry.offset.opening import CORNER_RESIDUE, inscribed_widths
from preprocess.geometry.offset.tips import Tip, find_tips, find_tips_of_parts, tip_margin

if TYPE_CHECKING:
    from shapely import MultiPolygon
    from shapely.geometry.base import BaseGeometry

    from preprocess.arrays import Floats, Geometries


_ATTEMPTS = 6
"""How often a distance is reduced before a tip or part is left as it is."""

_CLOSER = 0.7
"""What a distance is reduced by besides where a blunt end does not retreat in proportion to it."""

_MOST_OF_DEPTH = 0.8
"""No tip retreats by more than this share of its own depth."""

_MOST_OF_WIDTH = 0.25
"""No part that is narrow everywhere loses more than this share of its width on either side."""

_ENDS = 0.8
"""Ends of a part that is narrow everywhere are what is narrower than this share of its width."""

_SHARP = 0.16
"""Share of width² that a tip of 61 degrees has beyond its neck; from there on it is one in full.

What a disc of radius r leaves in a corner of half angle a is r² (cot a − (π/2 − a)).
"""

_LEAST = 1e-3
"""Distances below this, mm, are not worth a new outline."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TipRetreat:
    """Outcome for one tip, or for a part that is narrow everywhere (`whole`).

    Lengths in mm, area in mm². `by` is 0 where it was left as it is.
    """

    at: tuple[float, float]
    by: float = 0.0
    retreat: float = 0.0
    removed: float = 0.0
    capped: bool = True
    whole: bool = False


def inset_tips(
    area: MultiPolygon, width: float, by: float, cap: float
) -> tuple[MultiPolygon, tuple[TipRetreat, ...]]:
    """Pull what is narrower than `width` inward by `by`, each tip back by `cap` at most (mm).

    Places that are only just too narrow move less, those wide enough not at all. No part
    vanishes or falls apart: the distance is reduced until it does not, and the part is
    left as it is when that does not help. The result lies inside the area.
    """
    narrow = find_tips(area, width)
    parts = narrow.parts.copy()
    retreats: list[TipRetreat] = []
    for index, tips in _by_part(narrow.tips).items():
        wanted = [by * _share(tip.width, width) * _pointed(tip, width) for tip in tips]
        parts[index], found = _with_tips_in(parts[index], tips, wanted, cap)
        retreats += found
    everywhere = np.array(narrow.everywhere, dtype=np.intp)
    parts[everywhere], found = _thin(parts[everywhere], width, by, cap)
    return as_area(list(parts)), (*retreats, *found)


def _share(narrow: float, width: float) -> float:
    """Share of the distance: all of it up to half the width, nothing where it is wide enough."""
    return float(np.clip(2 * (1 - narrow / width), 0.0, 1.0))


def _pointed(tip: Tip, width: float) -> float:
    """Share of the distance by how far the tip reaches out: nothing where a corner counts as none.

    So no step shows between corners that are left alone and those a little sharper.
    """
    reach = float(tip.piece.area) / width**2
    return float(np.clip((reach - CORNER_RESIDUE) / (_SHARP - CORNER_RESIDUE), 0.0, 1.0))


def _thin(
    parts: Geometries, width: float, by: float, cap: float
) -> tuple[Geometries, list[TipRetreat]]:
    """Parts that are narrow everywhere: first all around, then the ends of what is left."""
    parts, retreats = parts.copy(), []
    widest = inscribed_widths(parts, width / 1000)
    for index, wide in enumerate(widest):
        amount = float(min(by * _share(wide, width), _MOST_OF_WIDTH * wide))
        if amount >= _LEAST:
            parts[index], whole = _shrunk(parts[index], amount, cap)
            widest[index] -= 2 * whole.by
            retreats.append(whole)
    for index, tips in _by_part(find_tips_of_parts(parts, _ENDS * widest)).items():
        most, broad = min(by, _MOST_OF_WIDTH * widest[index]), _ENDS * widest[index]
        wanted = [most * _pointed(tip, broad) for tip in tips]
        parts[index], found = _with_tips_in(parts[index], tips, wanted, cap)
        retreats += found
    return parts, retreats


def _by_part(tips: tuple[Tip, ...]) -> dict[int, list[Tip]]:
    found: dict[int, list[Tip]] = {}
    for tip in tips:
        found.setdefault(tip.part, []).append(tip)
    return found


def _with_tips_in(
    part: Polygon, tips: list[Tip], wanted: list[float], cap: float
) -> tuple[Polygon, list[TipRetreat]]:
    moving = [pair for pair in zip(tips, wanted, strict=True) if pair[1] >= _LEAST]
    if not moving:
        return part, []
    tips, wanted = [tip for tip, _ in moving], [by for _, by in moving]
    allowed = [_allowed(tip, by, cap) for tip, by in zip(tips, wanted, strict=True)]
    amounts, gone = [amount for amount, _ in allowed], [away for _, away in allowed]
    for _ in range(_ATTEMPTS):
        rest = _one(part, shapely.union_all(gone))
        if rest is not None:
            return rest, [
                _told(tip, amount, by, rest, away)
                for tip, amount, by, away in zip(tips, amounts, wanted, gone, strict=True)
            ]
        amounts = [amount / 2 for amount in amounts]
        gone = [tip_margin(tip, amount) for tip, amount in zip(tips, amounts, strict=True)]
    return part, [TipRetreat(at=tip.apex) for tip in tips]


def _told(tip: Tip, amount: float, by: float, rest: Polygon, gone: BaseGeometry) -> TipRetreat:
    return TipRetreat(
        at=tip.apex,
        by=amount,
        retreat=_retreat(tip, rest),
        removed=float(shapely.intersection(tip.piece, gone).area),
        capped=amount < by * (1 - 1e-9),
    )


def _allowed(tip: Tip, by: float, cap: float) -> tuple[float, BaseGeometry]:
    """How far the outline of a tip moves, and what that takes away.

    `by`, or what lets the tip retreat by no more than the cap: for a straight tip cap × sin a. The
    tip's own retreat d / sin a tells its angle, so that bent tips are capped as well. 0 where
    nothing does.
    """
    most, amount = min(cap, _MOST_OF_DEPTH * tip.depth), by
    for attempt in range(2 * _ATTEMPTS):
        gone = tip_margin(tip, amount)
        retreat = _retreat(tip, shapely.difference(tip.piece, gone))
        if retreat <= most * (1 + 1e-6):
            return amount, gone
        amount *= most / retreat * (1.0 if attempt < _ATTEMPTS else _CLOSER)
    return 0.0, tip_margin(tip, 0.0)


def _retreat(tip: Tip, rest: BaseGeometry) -> float:
    """How far the apex lies from what is left."""
    if rest.is_empty:
        return tip.depth
    return float(shapely.distance(shapely.Point(tip.apex), rest))


def _one(part: Polygon, gone: BaseGeometry) -> Polygon | None:
    """The part without what is gone, unless it would vanish or fall apart."""
    rest = shapely.difference(part, gone)
    return rest if isinstance(rest, Polygon) and not rest.is_empty else None


def _shrunk(part: Polygon, amount: float, cap: float) -> tuple[Polygon, TipRetreat]:
    wanted = amount
    for _ in range(_ATTEMPTS):
        rest = erode_parts(np.array([part]), amount, 0.02 * amount)[0]
        if isinstance(rest, Polygon) and not rest.is_empty:
            away = _distances(part, rest)
            if float(away.max()) <= cap * (1 + 1e-6):
                return _whole(part, rest, amount, wanted, away)
            amount *= cap / float(away.max())
        else:
            amount /= 2
    x, y = shapely.get_coordinates(shapely.point_on_surface(part))[0]
    return part, TipRetreat(at=(float(x), float(y)), whole=True)


def _distances(part: Polygon, rest: Polygon) -> Floats:
    """How far each corner of a part lies from what is left inside it."""
    tree = shapely.STRtree(shapely.linestrings(ring_edges(rest)))
    corners = shapely.points(shapely.get_coordinates(part))
    return tree.query_nearest(corners, return_distance=True, all_matches=False)[1]


def _whole(
    part: Polygon, rest: Polygon, amount: float, wanted: float, away: Floats
) -> tuple[Polygon, TipRetreat]:
    rest = shapely.intersection(part, rest) if not part.covers(rest) else rest
    x, y = shapely.get_coordinates(part)[int(np.argmax(away))]
    return rest, TipRetreat(
        at=(float(x), float(y)),
        by=amount,
        retreat=float(away.max()),
        removed=float(part.area - rest.area),
        capped=amount < wanted * (1 - 1e-9),
        whole=True,
    )
