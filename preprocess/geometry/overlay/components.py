"""Connected areas, and groups of areas that lie close to one another or overlap."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.geometry.base.connected import component_members
from preprocess.geometry.base.intersecting_pairs import interiors_intersect, intersecting_pairs
from preprocess.geometry.base.normalise import polygons_of, sort_parts
from preprocess.geometry.overlay.owners import SEAM_WIDTH

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import MultiPolygon, Polygon
    from shapely.geometry.base import BaseGeometry


def components(area: MultiPolygon) -> tuple[Polygon, ...]:
    """Connected components of an area with their holes, top to bottom, then left to right.

    Areas that touch in a point are separate, and so is an island in a hole.
    """
    return tuple(sort_parts(polygons_of(area)))


def groups_within(areas: Sequence[BaseGeometry], distance: float) -> list[list[int]]:
    """Group areas so that within a group each lies within `distance` (mm) of some other.

    Returns:
        Indices in rising order; the groups in order of their first index.
    """
    if not areas:
        return []
    shapes = np.array(areas, dtype=object)
    one, two = intersecting_pairs(shapes, shapes, "dwithin", distance)
    return component_members(len(areas), one, two)


def overlapping_groups(areas: Sequence[MultiPolygon]) -> list[list[int]]:
    """Groups of two and more areas that overlap, each by its numbers, in order.

    Areas that only touch, or overlap by no more than a seam of 4e-6 mm, do not.
    """
    if len(areas) < 2:  # noqa: PLR2004 - one cannot overlap
        return []
    given = np.array(areas, dtype=object)
    one, two = intersecting_pairs(given, given, "intersects")
    one, two = one[one < two], two[one < two]
    inside = interiors_intersect(given[one], given[two])
    one, two = one[inside], two[inside]
    shared = shapely.area(shapely.intersection(given[one], given[two]))
    thin = SEAM_WIDTH * np.minimum(shapely.length(given[one]), shapely.length(given[two]))
    one, two = one[shared > thin], two[shared > thin]
    return [group for group in component_members(len(areas), one, two) if len(group) > 1]
