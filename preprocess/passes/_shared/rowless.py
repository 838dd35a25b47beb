"""Pieces of areas that are so thin that no row of those that replace them meets them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.findings import Finding, counted, warn
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from preprocess.arrays import Geometries
    from preprocess.model.artwork.shape import Shape


def rowless_findings(
    layer: str, areas: Sequence[Shape], rows: Sequence[Shape], instead: str
) -> Iterator[Finding]:
    """A warning about pieces of a layer that no row meets; `instead` is what the step offers."""
    dark, ids = _rowless(areas, rows)
    if len(dark):
        message = (
            f"{counted(len(dark), 'piece')} of {layer} too thin for a row will not be marked: "
            f"{digits(shapely.area(dark).sum(), 3)} mm² in all"
        )
        remedy = f"give {instead}, or thicken them in the drawing"
        yield warn("piece-without-row", message, remedy, elements=ids, layer=layer)


def _rowless(areas: Sequence[Shape], rows: Sequence[Shape]) -> tuple[Geometries, list[str]]:
    """Connected pieces of the areas that no row meets, and the ids of the areas they belong to."""
    painted = np.array([shape.geometry for shape in areas], dtype=object)
    pieces, owner = shapely.get_parts(painted, return_index=True)
    lines = shapely.get_parts(np.array([shape.geometry for shape in rows], dtype=object))
    shapely.prepare(pieces)
    lit, _ = shapely.STRtree(lines).query(pieces, predicate="intersects")
    dark = np.setdiff1d(np.arange(len(pieces)), lit)
    return pieces[dark], [areas[i].id for i in dict.fromkeys(owner[dark].tolist())]
