"""Tips of an area: free ends of what is narrower than a width.

The residue of an opening is what is narrow; the medial axis tells where that ends. A ring, a waist
and a stroke between two places have no end.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.geometry.base.normalise import as_lines
from preprocess.geometry.medial_axis.hairlines import prune_spurs, split_at_reach
from preprocess.geometry.medial_axis.voronoi import medial_axis
from preprocess.geometry.offset.opening import opening_residue, outline_edges
from preprocess.geometry.overlay.partition import partition_area
from preprocess.geometry.tips.axis_ends import AxisEnd, axis_ends
from preprocess.geometry.tips.tips import Tip, mean_width, tip_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import MultiPolygon

    from preprocess.arrays import Booleans, Floats, Geometries, Indices
    from preprocess.geometry.offset.opening import Residue

_FINE = 100.0
"""The axis is that of outlines simplified to the width divided by this."""


@dataclass(frozen=True, slots=True, eq=False)
class PartsWithTips:
    """The parts of an area, and the tips among them."""

    parts: Geometries
    tips: tuple[Tip, ...]


def find_tips(area: MultiPolygon, width: float) -> PartsWithTips:
    """Find the ends of an area that are narrower than a width (mm), part by part.

    A tip begins where the area is wide enough, or where it widens no more: the square end of a
    stroke of one width is as long as half of that.
    """
    left = opening_residue(area, width)
    if not len(left.pieces):
        return PartsWithTips(left.parts, ())
    slack = width / _FINE
    concerned = left.parts[np.unique(left.owner)]
    axis = medial_axis(shapely.multipolygons(shapely.simplify(concerned, slack)))
    ends = list(axis_ends(prune_spurs(split_at_reach(axis, width / 2), width), width))
    index = _nearest(left.pieces, ends, 2 * slack)
    found = [(end, number) for end, number in zip(ends, index.tolist(), strict=True) if number >= 0]
    in_full, rest = _in_full(left, found, width)
    cut_off = _cut_off(left, rest, 3 * slack)
    return PartsWithTips(left.parts, tuple(sorted((*in_full, *cut_off), key=_place)))


def _place(tip: Tip) -> tuple[int, float, float]:
    return tip.part, *tip.apex


def _nearest(areas: Geometries, ends: Sequence[AxisEnd], within: float) -> Indices:
    """The area that each end lies in, or at most so far from; −1 where there is none."""
    found = np.full(len(ends), -1)
    points = shapely.points(np.array([end.inside for end in ends]).reshape(-1, 2))
    tree = shapely.STRtree(areas)
    end, area = tree.query_nearest(points, max_distance=within, all_matches=False)
    found[end] = area
    return found


def _in_full(
    left: Residue, found: Sequence[tuple[AxisEnd, int]], width: float
) -> tuple[list[Tip], list[tuple[AxisEnd, int]]]:
    """Tips that are whole pieces of residue with one neck; and the ends that are not."""
    opened = np.array([number for end, number in found if end.open], dtype=np.intp)
    pieces = {
        number: (edges, free)
        for number, edges, free in _outlines(left, np.unique(opened))
        if free.any() and _necks(edges, free) == 1
    }
    tips = [
        tip_of(
            int(left.owner[number]),
            left.pieces[number],
            edges[free],
            edges[~free],
            width=mean_width(left.pieces[number], edges[free]),
            broad=width,
        )
        for number, (edges, free) in pieces.items()
    ]
    rest = [(end, number) for end, number in found if not end.open or number not in pieces]
    rest = [(end, number) for end, number in rest if number not in pieces]
    return [tip for tip in tips if tip is not None], rest


def _cut_off(left: Residue, found: Sequence[tuple[AxisEnd, int]], beyond: float) -> list[Tip]:
    """Tips that are cut off a piece of residue, straight across where they begin."""
    if not found:
        return []
    ends, numbers = [end for end, _ in found], np.unique([number for _, number in found])
    lines = as_lines(list(shapely.linestrings([_across(end, beyond) for end in ends])))
    pieces = left.pieces[numbers]
    one_by_one = partition_area(
        shapely.multipolygons(pieces), lines, lambda points: np.arange(len(points))
    )
    faces = shapely.get_parts(np.array(list(one_by_one.values()), dtype=object))
    face = _nearest(faces, ends, 2 * beyond)
    alone = np.bincount(face[face >= 0], minlength=len(faces)) == 1
    some = [(end, number, at) for (end, number), at in zip(found, face.tolist(), strict=True)]
    some = [entry for entry in some if entry[2] >= 0 and alone[entry[2]]]
    cut = replace(
        left,
        pieces=faces[[at for _, _, at in some]],
        owner=left.owner[[number for _, number, _ in some]],
    )
    tips = []
    for number, edges, free in _outlines(cut, np.arange(len(some))):
        end = some[number][0]
        if free.any() and _necks(edges, free) == 1:
            tip = tip_of(
                int(cut.owner[number]),
                cut.pieces[number],
                edges[free],
                edges[~free],
                width=end.mean,
                broad=end.broad,
            )
            tips += [] if tip is None else [replace(tip, cut=True, blunt=end.blunt)]
    return tips


def _across(end: AxisEnd, beyond: float) -> Floats:
    """The line across where an end begins, drawn out on both sides, for the axis is simplified."""
    along = end.across[1] - end.across[0]
    length = float(np.hypot(*along))
    reach = along / length * beyond if length else along
    return np.stack((end.across[0] - reach, end.across[1] + reach))


def _outlines(left: Residue, numbers: Indices) -> list[tuple[int, Floats, Booleans]]:
    """Number of some pieces, their edges (n × 2 × 2), and which of these lie on the outline."""
    edges, piece, free = outline_edges(
        left.pieces[numbers], left.parts[np.unique(left.owner[numbers])]
    )
    ends = np.cumsum(np.bincount(piece, minlength=len(numbers)))[:-1]
    both = zip(np.split(edges, ends), np.split(free, ends), strict=True)
    return [(number, *two) for number, two in zip(numbers.tolist(), both, strict=False)]


def _necks(edges: Floats, free: Booleans) -> int:
    """Number of connected runs of edges off the outline; 0 where all edges lie on it."""
    if free.all():
        return 0
    neck = shapely.line_merge(shapely.multilinestrings(list(edges[~free])))
    return len(shapely.get_parts(neck))
