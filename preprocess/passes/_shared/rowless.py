"""Pieces of areas that are so thin that no row of those that replace them meets them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.arrays import Geometries
    from preprocess.model.artwork.shape import Shape


def rowless_pieces(areas: Sequence[Shape], rows: Sequence[Shape]) -> tuple[Geometries, list[str]]:
    """Connected pieces of the areas that no row meets, and the ids of the areas they belong to."""
    painted = np.array([shape.geometry for shape in areas], dtype=object)
    pieces, owner = shapely.get_parts(painted, return_index=True)
    lines = shapely.get_parts(np.array([shape.geometry for shape in rows], dtype=object))
    shapely.prepare(pieces)
    lit, _ = shapely.STRtree(lines).query(pieces, predicate="intersects")
    dark = np.setdiff1d(np.arange(len(pieces)), lit)
    return pieces[dark], [areas[i].id for i in dict.fromkeys(owner[dark].tolist())]
