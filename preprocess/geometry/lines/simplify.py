"""Simplification: fewer points along borders, within a tolerance, without crossings.

A border is halved at its farthest vertex until all vertices that are left out lie within the
tolerance of the straight line that stands for them (D. Douglas, T. Peucker, The Canadian
Cartographer 10, 1973). Then that line also lies within the tolerance of what it stands for, so the
tolerance bounds the Hausdorff distance. A line that would cross or jump over another is halved
further. shapely does this for all borders together.
"""

from __future__ import annotations

from operator import is_not
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import shapely

from preprocess.geometry.base.connected import component_labels
from preprocess.geometry.base.intersecting_pairs import intersecting_pairs
from preprocess.geometry.base.normalise import as_area, as_lines
from preprocess.geometry.lines.border_network import border_network, rebuild_parts
from preprocess.geometry.overlay.shared_edges import share_edges

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import MultiLineString, MultiPolygon

    from preprocess.arrays import Floats, Geometries, Indices
    from preprocess.geometry.lines.border_network import BorderChains, BorderNetwork


_ROUNDS = 4
"""Rounds over the borders: lines in a crowd are halved more often than necessary."""

_AREA = 2
_ENDS = 2


class Simplified(NamedTuple):
    """Areas and lines with fewer points, in the same order, and how far they moved (mm).

    Those that kept their points are the very same objects.
    """

    shapes: tuple[MultiPolygon | MultiLineString, ...]
    moved: float


class Simplifier:
    """Simplification of areas and lines that touch, to any tolerance."""

    def __init__(
        self,
        shapes: Sequence[MultiPolygon | MultiLineString],
        beside: Sequence[MultiPolygon | MultiLineString] = (),
    ) -> None:
        """Cut their outlines into borders; vertices within 2e-6 mm of an edge lie on it.

        What lies `beside` keeps its points, and the borders that it shares with others theirs.
        """
        self._given = tuple(shapes)
        every = np.array([*shapes, *beside], dtype=object)
        parts, owner = shapely.get_parts(every, return_index=True)
        shared, piece = shapely.get_parts(_sharing(parts), return_index=True)
        mine = owner[piece] < len(self._given)
        self._owner, self._parts = owner[piece][mine], shared[mine]
        whole: BorderNetwork = border_network([*self._parts, *shared[~mine]])
        self._net = whole._replace(chains=whole.chains[: len(self._parts)])
        others = whole.chains[len(self._parts) :]
        self._still = np.zeros(len(whole.borders), dtype=bool)
        self._still[_used(others)] = True

    def to(self, tolerance: float) -> Simplified:
        """Simplify all of them, each border within the tolerance (mm) of what it was."""
        borders = self._net.borders
        if not len(borders):
            return Simplified(self._given, 0.0)
        thin = borders.copy()
        free = ~self._still & (shapely.get_num_coordinates(borders) > _ENDS)
        thin[free] = _thin(borders[free], _edges(borders[~free]), tolerance)
        parts = rebuild_parts(self._parts, self._net, thin)
        while not (fine := shapely.is_valid(parts)).all():
            back = _used([self._net.chains[i] for i in np.flatnonzero(~fine)])
            if (thin[back] == borders[back]).all():  # only what came in like that
                break
            thin[back] = borders[back]
            parts = rebuild_parts(self._parts, self._net, thin)
        return Simplified(self._shapes(parts), float(_moved(borders, thin).max()))

    def _shapes(self, parts: Geometries) -> tuple[MultiPolygon | MultiLineString, ...]:
        made = list(self._given)
        changed = np.fromiter(map(is_not, parts, self._parts), bool, len(parts))
        for index in np.unique(self._owner[changed]):
            mine, area = parts[self._owner == index], made[index].geom_type == "MultiPolygon"
            made[index] = as_area(mine) if area else as_lines(mine)
        return tuple(made)


def _sharing(parts: Geometries) -> Geometries:
    """The same with vertices where a corner of one area lies on an edge of another."""
    areas = shapely.get_dimensions(parts) == _AREA
    result = parts.copy()
    result[areas] = share_edges(parts[areas])
    return result


def _used(chains: Sequence[BorderChains]) -> list[int]:
    """The numbers of the borders that parts run along."""
    return sorted({number for rings in chains for ring in rings for number, _ in ring})


def _edges(borders: Geometries) -> Geometries:
    """Fixed vertices, edge by edge, for ends of lines are kept.

    Each has a point in its middle too: shapely asks the second point of a line which side of
    others it lies on, and an end lies on neither.
    """
    points = [shapely.get_coordinates(border) for border in borders]
    edges = [np.stack((p[:-1], (p[:-1] + p[1:]) / 2, p[1:]), axis=1) for p in points]
    return shapely.linestrings(np.concatenate(edges)) if edges else borders


def _thin(borders: Geometries, beside: Geometries, tolerance: float) -> Geometries:
    """The borders thinned, and again while that finds more: a neighbour may have made room.

    Only borders that come near one another are handed to shapely together.
    """
    group = _groups(np.concatenate((borders, beside)), tolerance)
    order = np.argsort(group, kind="stable")
    thin = borders
    for _ in range(_ROUNDS):
        lines = np.concatenate((thin, beside))[order]
        together = shapely.multilinestrings(lines, indices=group[order])
        all_thin = shapely.simplify(together, tolerance, preserve_topology=True)
        lines[order] = shapely.get_parts(all_thin)
        less = lines[: len(thin)]
        less = np.where(_moved(borders, less) <= tolerance * (1 + 1e-9), less, thin)
        if (less == thin).all():
            break
        thin = less
    return thin


def _groups(lines: Geometries, tolerance: float) -> Indices:
    """For each line the number of its group: lines whose boxes come within the tolerance."""
    left, top, right, bottom = shapely.bounds(lines).reshape(-1, 4).T
    boxes = shapely.box(left - tolerance, top - tolerance, right + tolerance, bottom + tolerance)
    one, two = intersecting_pairs(boxes, boxes)
    return component_labels(len(lines), one, two)


def _moved(before: Geometries, after: Geometries) -> Floats:
    """For each border the greatest distance of a vertex from the edge that stands for it now."""
    found = np.zeros(len(before))
    fewer = shapely.get_num_coordinates(before) != shapely.get_num_coordinates(after)
    for number in np.flatnonzero(fewer):
        found[number] = _farthest(*map(shapely.get_coordinates, (before[number], after[number])))
    return found


def _farthest(points: Floats, kept: Floats) -> float:
    """The same for one border; the points that it keeps are some of its own, in order."""
    flat = points[:-1].copy().view(np.complex128).ravel()
    order = np.argsort(flat, kind="stable")
    place = order[np.searchsorted(flat, kept[:-1].copy().view(np.complex128).ravel(), sorter=order)]
    edge = np.searchsorted(place, np.arange(len(flat)), side="right") - 1
    edges = shapely.linestrings(np.stack((kept[:-1], kept[1:]), axis=1))
    return float(shapely.distance(shapely.points(points[:-1]), edges[edge]).max())
