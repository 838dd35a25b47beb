"""A tip: an end of an area that is narrower than a width, and the margin that it loses."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.geometry.base.ranges import expand_ranges
from preprocess.geometry.offset.opening import ON_OUTLINE

if TYPE_CHECKING:
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

    from preprocess.arrays import Floats, Geometries


_STEPS = 8
"""Into how many steps the depth of a tip is divided, at least."""

_CORNERS = 24
"""Corners of the polygon that stands for a disc; two of them lie square to the outline."""


@dataclass(frozen=True, slots=True, eq=False)
class Tip:
    """An end of one part that is narrower than a width; lengths in mm.

    `piece` is the tip itself, from its `neck` on. `outline` holds those of its edges that lie on
    the outline of the part, cut fine (n × 2 × 2); `away` how far their ends lie from the neck
    (n × 2); `apex` is the point farthest from the neck. `width` is its mean width, `broad` that
    at the neck. `cut` tells that it was cut off what goes on as narrow, `blunt` that its sides
    are parallel.
    """

    part: int
    piece: Polygon
    neck: BaseGeometry
    outline: Floats
    away: Floats
    apex: tuple[float, float]
    width: float
    broad: float
    cut: bool = False
    blunt: bool = False

    @property
    def depth(self) -> float:
        """Distance of the apex from the neck, mm."""
        return float(self.away.max())


def tip_of(
    part: int, piece: Polygon, outline: Floats, neck: Floats, *, width: float, broad: float
) -> Tip | None:
    """Tip of a part from a piece, its edges on the outline, and those of its neck (n × 2 × 2).

    None where the piece has no depth.
    """
    line = shapely.multilinestrings(list(neck))
    reach = float(shapely.distance(shapely.points(outline.reshape(-1, 2)), line).max())
    if reach <= ON_OUTLINE:
        return None
    fine = _divided(outline, reach / _STEPS)
    away = shapely.distance(shapely.points(fine), line)
    x, y = fine.reshape(-1, 2)[int(np.argmax(away))]
    return Tip(
        part=part,
        piece=piece,
        neck=line,
        outline=fine,
        away=away,
        apex=(float(x), float(y)),
        width=width,
        broad=broad,
    )


def mean_width(piece: Polygon, outline: Floats) -> float:
    """Mean width of a tip, mm: area over half its outline (half the neck of a wedge)."""
    return 2 * float(piece.area) / float(np.hypot(*(outline[:, 1] - outline[:, 0]).T).sum())


def tip_margin(tip: Tip, by: float) -> BaseGeometry:
    """Margin to take away so that the outline of a tip moves inward.

    The distance grows from 0 at the neck to `by` half way out and stays so up to the apex: the
    union of discs of that radius along the outline. A straight tip of half angle a then retreats
    by / sin a. A blunt end loses what lies farther from the neck than its depth less `by`: its
    sides stay. Nothing beside the tip is touched, however near it passes.
    """
    around = shapely.buffer(tip.piece, 10 * ON_OUTLINE, join_style="mitre")
    if tip.blunt:
        kept = shapely.buffer(tip.neck, tip.depth - by, quad_segs=2 * _CORNERS)
        return shapely.difference(around, kept)
    radii = by * np.minimum(1.0, 2 * tip.away / tip.depth)
    return shapely.intersection(shapely.union_all(_capsules(tip.outline, radii)), around)


def _divided(edges: Floats, step: float) -> Floats:
    """Edges (n × 2 × 2) cut so that none is longer than the step."""
    start, along = edges[:, 0], edges[:, 1] - edges[:, 0]
    count = np.maximum(1, np.ceil(np.hypot(*along.T) / step)).astype(int)
    edge, number = expand_ranges(np.zeros_like(count), count)
    ends = np.stack((number, number + 1), axis=1) / count[edge][:, None]
    return start[edge][:, None, :] + along[edge][:, None, :] * ends[:, :, None]


def _capsules(edges: Floats, radii: Floats) -> Geometries:
    """Convex hulls of two discs each: one around either end of every edge."""
    along = edges[:, 1] - edges[:, 0]
    across = np.arctan2(along[:, 0], -along[:, 1])
    turn = across[:, None] + np.arange(_CORNERS) * (2 * np.pi / _CORNERS)
    rim = np.stack((np.cos(turn), np.sin(turn)), axis=-1)
    points = edges[:, :, None, :] + radii[:, :, None, None] * rim[:, None, :, :]
    return shapely.convex_hull(shapely.linestrings(points.reshape(len(edges), -1, 2)))
