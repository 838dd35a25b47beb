"""Ends of a medial axis: how far inward from each the area widens, as a tip does."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from preprocess.geometry.medial_axis.voronoi import nearest_on_sides

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from preprocess.arrays import Floats
    from preprocess.geometry.medial_axis.voronoi import MedialAxis

_SOON, _SOON_BY = 0.75, 1.01
_LATER, _LATER_BY = 2.0, 1.05
"""An end goes on as long as the area gets 1.01 times as wide within 0.75 widths, and 1.05 times
within two: half angles down to 0.7 degrees. A stroke of one width stops at once, and so does a
short one before its mouth."""

_LEAST = 0.25
"""Widths below this share of what counts as narrow are measured over stretches of that share."""

_BLUNT = 0.5
"""An end that widens over less than this share of its width is blunt."""

_EVEN = 1e-6
_TINY = 1e-12


@dataclass(frozen=True, slots=True, eq=False)
class AxisEnd:
    """End of a medial axis, from its leaf inward to where the area widens no more; mm.

    `inside` is a point of the end. `across` is the straight line between both sides where it
    begins (2 × 2), `broad` the local width there, `mean` the mean local width on the way.
    `open` tells that the area has become wide enough there, `blunt` that it hardly widened at all.
    """

    inside: tuple[float, float]
    across: Floats
    broad: float
    mean: float
    open: bool
    blunt: bool


def axis_ends(axis: MedialAxis, width: float) -> Iterator[AxisEnd]:
    """Ends of an axis that are narrower than a width (mm), in the order of their nodes."""
    degree, around = axis.degree, axis.around()
    for leaf in np.flatnonzero((degree == 1) & (2 * axis.reach < width)).tolist():
        nodes, edges = _way(axis, around, leaf, width)
        points = axis.at[nodes]
        way = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))))
        wide = 2 * axis.reach[nodes]
        is_open = bool(wide[-1] >= width * (1 - _EVEN))
        stop = _stop(way, wide, width)
        last = stop == len(nodes) - 1
        broad = float(wide[stop])
        if broad <= _TINY:
            continue
        mean = float(np.trapezoid(wide[: stop + 1], way[: stop + 1]) / way[stop]) if stop else broad
        blunt = bool(way[stop] < _BLUNT * broad)
        outward = _unit(points[stop] - points[stop + 1] if not last else points[0] - points[1])
        half = np.array((-outward[1], outward[0])) * broad / 2
        sides = nearest_on_sides(points[[stop]], axis.sides[[edges[max(stop - 1, 0)]]])[0]
        x, y = points[0] + _unit(points[0] - points[1]) * axis.reach[leaf] / 2
        yield AxisEnd(
            inside=(float(x), float(y)),
            across=np.stack((points[stop] - half, points[stop] + half)) if blunt else sides,
            broad=broad,
            mean=mean,
            open=is_open and last,
            blunt=blunt,
        )


def _unit(vector: Floats) -> Floats:
    return vector / max(float(np.hypot(*vector)), _TINY)


def _way(
    axis: MedialAxis, around: Callable[[int], list[int]], leaf: int, width: float
) -> tuple[list[int], list[int]]:
    """Nodes and edges from a leaf up to a fork, another end, or where the area is wide enough."""
    nodes: list[int] = [leaf]
    edges: list[int] = []
    while True:
        node = nodes[-1]
        onward = [edge for edge in around(node) if edge not in edges[-1:]]
        if len(onward) != 1 or (edges and 2 * axis.reach[node] >= width * (1 - _EVEN)):
            return nodes, edges
        one, two = axis.ends[onward[0]].tolist()
        edges.append(onward[0])
        nodes.append(two if one == node else one)


def _stop(way: Floats, wide: Floats, width: float) -> int:
    """Index into the way at which the area stops getting wider."""
    most = np.maximum.accumulate(wide)
    span = np.maximum(most, _LEAST * width)
    grows = np.ones(len(way), dtype=bool)
    for ahead, by in ((_SOON, _SOON_BY), (_LATER, _LATER_BY)):
        there = way + ahead * span
        grows &= (np.interp(there, way, most) >= by * most) | (there > way[-1])
    return int(np.argmin(grows)) if not grows.all() else len(way) - 1
