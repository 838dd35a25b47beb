"""Bounding boxes: left, top, right, bottom in mm."""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely

if TYPE_CHECKING:
    from collections.abc import Iterable

    from shapely import Geometry

Bounds = tuple[float, float, float, float]


def joint_bounds(geometries: Iterable[Geometry]) -> Bounds | None:
    """Bounding box of all geometries together; None where all are empty."""
    shown = [geometry for geometry in geometries if not geometry.is_empty]
    if not shown:
        return None
    left, top, right, bottom = shapely.total_bounds(shown).tolist()
    return left, top, right, bottom
