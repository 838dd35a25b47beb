"""Zones by heat, settled: crumbs join a neighbour, and no seam divides what gains too little."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.findings import counted
from preprocess.geometry.base.connected import component_members
from preprocess.geometry.base.normalise import as_area
from preprocess.geometry.base.row_frame import RowFrame
from preprocess.geometry.offset.opening import inscribed_widths
from preprocess.geometry.overlay.partition import coverage_union, longest_neighbour

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping, Sequence

    from preprocess.arrays import Floats, Geometries, Indices, Integers
    from preprocess.marking.heat.index_images import IndexImage
    from preprocess.marking.job.plan import RasterGroup
    from preprocess.passes.tag_power.zones import Zones

_SPOTS = 2.0
"""A zone narrower than this many spots is a crumb."""

_CRUMB = 0.5
"""A zone of less than this many mm² is a crumb."""

_WIDE = 0.5
"""A seam this share as long as its area reaches along the rows lies in a wide place, not a tip."""

_EXTREMES = (0.05, 0.95)
"""Unevenness of an area is the ratio between these quantiles of its index."""


@dataclass(frozen=True, slots=True, eq=False)
class _Zoned:
    """Zones of all shapes: pieces, their levels, and number of the connected area of each."""

    wholes: Geometries
    pieces: Geometries
    level: Integers
    whole: Integers


@dataclass(frozen=True, slots=True, kw_only=True)
class Seams:
    """Zones of the connected areas that levels divide.

    `steps` are the largest steps of power inside each divided area, as ratios above 1; `kept` is
    how many areas stay whole because their index would gain less than the step.
    """

    steps: tuple[float, ...]
    kept: int

    def text(self) -> str:
        """Clauses for a sentence, each after a semicolon; empty where there is nothing to say."""
        said = ""
        if self.steps:
            most = 100 * (max(self.steps) - 1)
            areas = counted(len(self.steps), "wide area")
            said += f"; seams inside {areas} step by up to {most:.0f} %"
        if self.kept:
            areas = "area stays" if self.kept == 1 else "areas stay"
            said += f"; {self.kept} wide {areas} whole: a seam would step by more than it evens"
        return said


def settle_zones(
    groups: Sequence[RasterGroup],
    cut: Sequence[Sequence[Zones]],
    images: Sequence[Sequence[IndexImage]],
    powers: Sequence[float] | None,
    spot: float,
) -> tuple[list[list[Zones]], Seams]:
    """Zones of each shape of each group without crumbs and without seams that gain too little.

    A piece narrower than two spots or smaller than 0.5 mm² takes the level of the neighbour with
    the longest common border. A connected area that a seam divides in a wide place stays in
    levels only where they lower the ratio of its hottest to its coolest places (95 % to 5 % of
    the area) by more than the power steps at a seam. Together the zones are the areas as before.

    Args:
        groups: what is swept.
        cut: level and area of each zone, by group and shape.
        images: heat index at one power for all, by group.
        powers: share of the power for each level; by default what makes all levels equally hot.
        spot: diameter of the beam, mm.
    """
    settled = [
        [
            _without_crumbs(_zoned(shape.geometry, zones), _SPOTS * spot)
            for shape, zones in zip(group.shapes, of_group, strict=True)
        ]
        for group, of_group in zip(groups, cut, strict=True)
    ]
    seen = [_cells(of_group) for of_group in images]
    found = [
        [_index_in(zoned.pieces, *cells) for zoned in of_group]
        for of_group, cells in zip(settled, seen, strict=True)
    ]
    factors = _factors(settled, found, powers)
    steps: list[float] = []
    kept = 0
    result: list[list[Zones]] = []
    for group, of_group, indices in zip(groups, settled, found, strict=True):
        result.append([])
        for zoned, index in zip(of_group, indices, strict=True):
            final, seams, stayed = _solids_whole(zoned, index, factors, group.angle)
            steps += seams
            kept += stayed
            result[-1].append(_zones(final))
    return result, Seams(steps=tuple(steps), kept=kept)


def _zoned(area: shapely.MultiPolygon, zones: Zones) -> _Zoned:
    wholes = shapely.get_parts(area)
    areas = np.array([zone for _, zone in zones], dtype=object)
    pieces, owner = shapely.get_parts(areas, return_index=True)
    level = np.array([level for level, _ in zones])[owner]
    piece, whole = shapely.STRtree(wholes).query(
        shapely.point_on_surface(pieces), predicate="intersects"
    )
    of_piece = np.zeros(len(pieces), dtype=np.int64)
    of_piece[piece] = whole
    return _Zoned(wholes, pieces, level, of_piece)


def _without_crumbs(zoned: _Zoned, width: float) -> _Zoned:
    """The smallest crumb joins first; an area that is small altogether stays as it is."""
    pieces, level, whole = list(zoned.pieces), zoned.level.tolist(), zoned.whole.tolist()
    while True:
        parts = np.array(pieces, dtype=object)
        divided = np.bincount(whole, minlength=len(zoned.wholes))[whole] > 1
        size = np.where(divided, shapely.area(parts), np.inf)
        some = np.flatnonzero(divided & (size >= _CRUMB))
        size[some[inscribed_widths(parts[some], width / 50) >= width]] = np.inf
        tree = shapely.STRtree(parts)
        for crumb in np.argsort(size, kind="stable").tolist():
            if not np.isfinite(size[crumb]):
                return _Zoned(zoned.wholes, parts, np.array(level), np.array(whole))
            other = longest_neighbour(parts, tree, crumb)
            if other is not None:
                break
        else:
            return _Zoned(zoned.wholes, parts, np.array(level), np.array(whole))
        pieces[other] = _one(parts[[other, crumb]])
        for column in (pieces, level, whole):
            del column[crumb]


def _one(pieces: Geometries) -> shapely.Polygon:
    """Neighbours as one polygon."""
    area = coverage_union(pieces)
    return area.geoms[0] if len(area.geoms) == 1 else as_area(shapely.union_all(pieces)).geoms[0]


def _cells(images: Sequence[IndexImage]) -> tuple[shapely.STRtree, Floats]:
    """Middles of all lit cells, and the index of each."""
    x, y, index = [np.empty(0)], [np.empty(0)], [np.empty(0)]
    for image in images:
        at_x, at_y = image.points
        x.append(at_x[image.lit])
        y.append(at_y[image.lit])
        index.append(image.index[image.lit])
    points = shapely.points(np.concatenate(x), np.concatenate(y))
    return shapely.STRtree(points), np.concatenate(index)


def _index_in(pieces: Geometries, tree: shapely.STRtree, index: Floats) -> list[Floats]:
    shapely.prepare(pieces)
    piece, cell = tree.query(pieces, predicate="intersects")
    return np.split(index[cell], np.cumsum(np.bincount(piece, minlength=len(pieces)))[:-1])


def _factors(
    settled: Sequence[Sequence[_Zoned]],
    found: Sequence[Sequence[list[Floats]]],
    powers: Sequence[float] | None,
) -> dict[int, float]:
    """By what the index of each level is multiplied by its power."""
    if powers is not None:
        return dict(enumerate(powers, 1))
    by_level: dict[int, list[Floats]] = {}
    for of_group, indices in zip(settled, found, strict=True):
        for zoned, index in zip(of_group, indices, strict=True):
            for level, values in zip(zoned.level.tolist(), index, strict=True):
                by_level.setdefault(level, []).append(values)
    some = {level: np.concatenate(values) for level, values in by_level.items()}
    return {n: 1 / float(np.median(values)) if len(values) else 1.0 for n, values in some.items()}


def _solids_whole(
    zoned: _Zoned, index: list[Floats], factors: Mapping[int, float], angle: float
) -> tuple[_Zoned, list[float], int]:
    """Zones with solids made whole, the steps inside the others, and how many were made whole.

    A solid is what wide seams divide: pieces beyond a short one, at a tip, are not of it.
    """
    steps: list[float] = []
    solids: list[tuple[shapely.Polygon, int, int]] = []
    kept = 0
    for number in range(len(zoned.wholes)):
        mine = np.flatnonzero(zoned.whole == number)
        one, two, length = _seams(zoned.pieces[mine], zoned.level[mine])
        wide = length >= _WIDE * _extent(zoned.wholes[number], angle)
        for members in component_members(len(mine), one[wide], two[wide]):
            some = mine[members].tolist()
            inside = np.isin(one, members) & np.isin(two, members)
            pairs = zoned.level[mine[np.stack((one, two))[:, inside]]].T.tolist()
            step = max((_ratio(factors[a], factors[b]) for a, b in pairs), default=1.0)
            before = np.concatenate([index[i] for i in some])
            after = np.concatenate([index[i] * factors[int(zoned.level[i])] for i in some])
            if len(some) == 1 or _uneven(before) > step * _uneven(after):
                steps += [step] if len(some) > 1 else []
                solids += [(zoned.pieces[i], int(zoned.level[i]), number) for i in some]
                continue
            kept += 1
            best = _level_for(before, set(zoned.level[some].tolist()), factors)
            whole = zoned.wholes[number] if len(some) == len(mine) else _one(zoned.pieces[some])
            solids.append((whole, best, number))
    pieces, level, whole = (np.array(column) for column in zip(*solids, strict=True))
    return _Zoned(zoned.wholes, pieces, level, whole), steps, kept


def _level_for(index: Floats, levels: Collection[int], factors: Mapping[int, float]) -> int:
    """The level that brings the median of some places nearest to that of all."""
    middle = float(np.median(index)) if len(index) else 1.0
    return min(sorted(levels), key=lambda level: abs(np.log(middle * factors[level])))


def _seams(pieces: Geometries, level: Integers) -> tuple[Indices, Indices, Floats]:
    """Pairs of pieces of different levels that share a border, and its length."""
    one, two = shapely.STRtree(pieces).query(pieces, predicate="intersects")
    apart = level[one] < level[two]
    one, two = one[apart], two[apart]
    length = shapely.length(shapely.intersection(pieces[one], pieces[two]))
    return one[length > 0], two[length > 0], length[length > 0]


def _extent(area: shapely.Polygon, angle: float) -> float:
    """Reach of an area along the rows, mm."""
    u, _ = RowFrame(angle).to_uv(*shapely.get_coordinates(area).T)
    return float(np.ptp(u))


def _ratio(one: float, two: float) -> float:
    return max(one, two) / min(one, two)


def _uneven(index: Floats) -> float:
    """Heat of the hottest places relative to the coolest."""
    if not len(index):
        return 1.0
    low, high = np.quantile(index, _EXTREMES)
    return float(high / low) if low > 0 else np.inf


def _zones(zoned: _Zoned) -> Zones:
    levels = sorted(set(zoned.level.tolist()))
    return [(n, _joined(zoned.pieces[zoned.level == n])) for n in levels]


def _joined(pieces: Geometries) -> shapely.MultiPolygon:
    return as_area(shapely.multipolygons(pieces))
