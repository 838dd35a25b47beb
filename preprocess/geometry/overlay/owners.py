"""Owners of pieces: the drawn areas that overlap them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.geometry.base.intersecting_pairs import intersecting_pairs

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely.geometry.base import BaseGeometry

    from preprocess.arrays import Geometries, Integers


SEAM_WIDTH = 4e-6
"""Overlaps thinner than this, in mm, come from vertices that were moved onto their neighbours."""


def areas_under(
    pieces: Sequence[BaseGeometry], areas: Sequence[BaseGeometry]
) -> tuple[tuple[int, ...], ...]:
    """Indices, for each piece, of the areas that overlap it, ascending; else the nearest area.

    Areas that only touch a piece have no share in it. Without areas no piece has an owner.
    """
    if not len(areas):
        return ((),) * len(pieces)
    found: list[set[int]] = [set() for _ in pieces]
    whole = np.array(pieces, dtype=object)
    parts, area = shapely.get_parts(np.array(areas, dtype=object), return_index=True)
    for piece, part in zip(*_overlaps(whole, parts), strict=True):
        found[piece].add(int(area[part]))
    orphans = [number for number, mine in enumerate(found) if not mine]
    for number, part in zip(orphans, shapely.STRtree(parts).nearest(whole[orphans]), strict=True):
        found[number].add(int(area[part]))
    return tuple(tuple(sorted(mine)) for mine in found)


def _overlaps(whole: Geometries, parts: Geometries) -> tuple[Integers, Integers]:
    """Pairs (piece, part) that overlap.

    Most are told by a point inside the part, which is many times faster than cutting a large
    piece by each of its parts.
    """
    sure = intersecting_pairs(whole, shapely.point_on_surface(parts), "contains")
    piece, part = intersecting_pairs(whole, parts, "intersects")
    unsure = ~np.isin(piece * len(parts) + part, sure[0] * len(parts) + sure[1])
    piece, part = piece[unsure], part[unsure]
    shared = shapely.area(shapely.intersection(whole[piece], parts[part]))
    thin = SEAM_WIDTH * np.minimum(shapely.length(whole[piece]), shapely.length(parts[part]))
    meets = shared > thin
    return np.append(sure[0], piece[meets]), np.append(sure[1], part[meets])
