"""Division of an area by what was painted there: the last one on top has it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import MultiPolygon

from preprocess.geometry.base.normalise import as_area, as_lines
from preprocess.geometry.overlay.components import components
from preprocess.geometry.overlay.owners import areas_under
from preprocess.geometry.overlay.partition import partition_area

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import Polygon

    from preprocess.arrays import Floats, Indices


def divide_by_topmost(
    area: MultiPolygon, painted: Sequence[MultiPolygon], groups: Sequence[int]
) -> dict[int, MultiPolygon]:
    """Divide an area among groups of what was painted; the pieces tile it exactly.

    What lies under nothing painted goes to the group that is nearest.

    Args:
        area: in mm.
        painted: valid areas in order of painting, none of them empty.
        groups: the group of each of them.

    Returns:
        Group to its area, in ascending order; groups that are covered by others are left out.
    """
    alone: dict[int, list[Polygon]] = {}
    shared: list[Polygon] = []
    parts = components(area)
    for part, mine in zip(parts, areas_under(parts, painted), strict=True):
        theirs = {groups[index] for index in mine}
        if len(theirs) == 1:
            alone.setdefault(theirs.pop(), []).append(part)
        else:
            shared.append(part)
    divided = _divided(MultiPolygon(shared), painted, groups)
    return {
        group: as_area([*alone.get(group, ()), *shapely.get_parts(divided.get(group))])
        for group in sorted({*alone, *divided})
    }


def _divided(
    area: MultiPolygon, painted: Sequence[MultiPolygon], groups: Sequence[int]
) -> dict[int, MultiPolygon]:
    if area.is_empty:
        return {}
    tree = shapely.STRtree(painted)
    belongs = np.array(groups)

    def classify(points: Floats) -> Indices:
        spots = shapely.points(points)
        top = tree.nearest(spots)
        bare = np.full(len(spots), -1)
        spot, under = tree.query(spots, predicate="intersects")
        np.maximum.at(bare, spot, under)
        return belongs[np.where(bare < 0, top, bare)]

    near = tree.query(shapely.get_parts(area), predicate="intersects")[1]
    edges = shapely.boundary(tree.geometries[np.unique(near)])
    return partition_area(area, as_lines(edges), classify)
