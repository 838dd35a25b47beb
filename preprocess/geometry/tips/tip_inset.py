"""Inset of tips: how far the narrow ends of an area move, and what came of it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon

from preprocess.geometry.base.normalise import as_area
from preprocess.geometry.offset.opening import CORNER_RESIDUE, ON_OUTLINE
from preprocess.geometry.tips.find_tips import find_tips
from preprocess.geometry.tips.tips import Tip, tip_margin

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely.geometry.base import BaseGeometry

    from preprocess.arrays import Geometries


_ATTEMPTS = 6
"""Reductions of a distance before a tip is left as it is."""

_CLOSER = 0.7
"""Factor of each further reduction, where a blunt end does not retreat in proportion."""

_MOST_OF_DEPTH = 0.8
"""No tip retreats by more than this share of its own depth."""

_MOST_OF_WIDTH = 0.25
"""No end of a narrow stroke moves by more than this share of the width of the stroke."""

_SHARP = 0.16
"""Share of width² that a tip of 61 degrees has beyond its neck; from there on it is one in full.

What a disc of radius r leaves in a corner of half angle a is r² (cot a − (π/2 − a)).
"""

_LEAST = 1e-3
"""Distances below this, mm, are not worth a new outline."""


class Limit(StrEnum):
    """Limit that kept a tip from moving as far as asked."""

    CAP = "cap"
    WHOLENESS = "wholeness"


@dataclass(frozen=True, slots=True, kw_only=True)
class TipRetreat:
    """Outcome for one tip: where it was, what was wanted and what came of it.

    Lengths in mm, area in mm². `by` is 0 where it was left as it is.
    """

    at: tuple[float, float]
    wanted: float
    by: float = 0.0
    retreat: float = 0.0
    removed: float = 0.0
    limit: Limit | None = None


@dataclass(frozen=True, slots=True, eq=False)
class _Move:
    """A tip, how far its outline moves, and what that takes away and leaves of its piece."""

    tip: Tip
    wanted: float
    by: float
    gone: BaseGeometry
    rest: BaseGeometry
    limit: Limit | None


def inset_tips(
    area: MultiPolygon, width: float, by: float, cap: float
) -> tuple[MultiPolygon, tuple[TipRetreat, ...]]:
    """Pull ends narrower than `width` inward by `by`, each back by `cap` at most (mm).

    Ends that are only just too narrow move less. No part vanishes or falls apart: the distance of
    the end at fault is reduced until it does not, and that end is left as it is when this does
    not help. The result lies inside the area.
    """
    found = find_tips(area, width)
    moves: dict[int, list[_Move]] = {}
    for tip in found.tips:
        wanted = _wanted(tip, width, by)
        if wanted >= _LEAST:
            moves.setdefault(tip.part, []).append(_allowed(tip, wanted, cap))
    if not moves:
        return area, ()
    parts = found.parts.copy()
    for index, of_part in moves.items():
        parts[index], moves[index] = _with_tips_in(parts[index], of_part)
    return as_area(list(parts)), tuple(_told(move) for some in moves.values() for move in some)


def _wanted(tip: Tip, width: float, by: float) -> float:
    wanted = by * _share(tip.width, width) * _pointed(tip)
    return min(wanted, _MOST_OF_WIDTH * tip.broad) if tip.cut else wanted


def _share(narrow: float, width: float) -> float:
    """Share of the distance: all of it up to half the width, nothing where it is wide enough."""
    return float(np.clip(2 * (1 - narrow / width), 0.0, 1.0))


def _pointed(tip: Tip) -> float:
    """Share of the distance by how far the tip reaches out: nothing where a corner counts as none.

    So no step shows between corners that are left alone and those a little sharper.
    """
    reach = float(tip.piece.area) / tip.broad**2
    return float(np.clip((reach - CORNER_RESIDUE) / (_SHARP - CORNER_RESIDUE), 0.0, 1.0))


def _allowed(tip: Tip, by: float, cap: float) -> _Move:
    """Move of a tip by `by`, or by what the cap and the wholeness of the tip allow.

    For a straight tip the cap allows cap × sin a. The tip's own retreat d / sin a tells its angle,
    so that bent tips are capped as well. 0 where nothing does.
    """
    most = min(cap, _MOST_OF_DEPTH * tip.depth)
    amount, limit = by, None
    for attempt in range(2 * _ATTEMPTS):
        move = _move(tip, by, amount, limit)
        retreat = _retreat(move)
        if retreat > most * (1 + 1e-6):
            limit = limit or Limit.CAP
            amount *= most / retreat * (1.0 if attempt < _ATTEMPTS else _CLOSER)
        elif _crumbs(move):
            limit = Limit.WHOLENESS
            amount /= 2
        else:
            return move
    return _left(tip, by, limit)


def _move(tip: Tip, wanted: float, by: float, limit: Limit | None) -> _Move:
    gone = tip_margin(tip, by)
    return _Move(tip, wanted, by, gone, shapely.difference(tip.piece, gone), limit)


def _left(tip: Tip, wanted: float, limit: Limit | None) -> _Move:
    return _Move(tip, wanted, 0.0, Polygon(), tip.piece, limit)


def _retreat(move: _Move) -> float:
    """Distance of the apex from the remaining area."""
    if move.rest.is_empty:
        return move.tip.depth
    return float(shapely.distance(shapely.Point(move.tip.apex), move.rest))


def _crumbs(move: _Move) -> bool:
    """Test whether anything of the piece has lost its neck."""
    pieces = shapely.get_parts(move.rest)
    if len(pieces) == 1:
        return False
    return not shapely.dwithin(pieces, move.tip.neck, ON_OUTLINE).all()


def _with_tips_in(part: Polygon, moves: list[_Move]) -> tuple[Polygon, list[_Move]]:
    """The part without what its tips lose.

    A tip that would sever the part nevertheless, where it passes another, is halved, at last left.
    """
    for attempt in range(_ATTEMPTS):
        rest = shapely.difference(part, shapely.union_all([move.gone for move in moves]))
        if isinstance(rest, Polygon) and not rest.is_empty:
            return rest, moves
        last = attempt == _ATTEMPTS - 2
        at_fault = _at_fault(rest, moves)
        moves = [
            _reduced(move, last=last) if index in at_fault else move
            for index, move in enumerate(moves)
        ]
    return part, [_left(move.tip, move.wanted, Limit.WHOLENESS) for move in moves]


def _at_fault(rest: BaseGeometry, moves: Sequence[_Move]) -> set[int]:
    """The moves whose margin borders on anything but the largest piece; all if that is none."""
    pieces = shapely.get_parts(rest)
    if not len(pieces):
        return set(range(len(moves)))
    small = np.delete(pieces, int(np.argmax(shapely.area(pieces))))
    gone: Geometries = np.array([move.gone for move in moves], dtype=object)
    near = shapely.STRtree(gone).query(small, predicate="dwithin", distance=10 * ON_OUTLINE)[1]
    return set(near.tolist()) or set(range(len(moves)))


def _reduced(move: _Move, *, last: bool) -> _Move:
    if last or not move.by:
        return _left(move.tip, move.wanted, Limit.WHOLENESS)
    return _move(move.tip, move.wanted, move.by / 2, Limit.WHOLENESS)


def _told(move: _Move) -> TipRetreat:
    return TipRetreat(
        at=move.tip.apex,
        wanted=move.wanted,
        by=move.by,
        retreat=_retreat(move) if move.by else 0.0,
        removed=float(move.tip.piece.area - move.rest.area),
        limit=move.limit,
    )
