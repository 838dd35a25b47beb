"""What a person should know of outlines that are scored inside engraved areas."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.findings import Finding, note, warn
from preprocess.geometry.opening import residue

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from shapely import MultiPolygon

    from preprocess.model.shape import Shape

SPECK = 1e-3
"""Pieces below this, in mm², are not worth a finding."""


def edge_notes(
    groups: Sequence[Sequence[Shape]],
    areas: Sequence[MultiPolygon],
    edges: Sequence[Shape],
    inset: float,
) -> Iterator[Finding]:
    """All findings about areas, group by group, and their outlines.

    Args:
        groups: shapes that are outlined as one.
        areas: their areas.
        edges: the outlines, without the empty ones.
        inset: how far they keep inside, mm.
    """
    if not groups:
        yield note("no-edges", "there is no engraved area here whose edge could be scored")
        return
    for layer in dict.fromkeys(shape.layer for shape in edges):
        mine = [shape for shape in edges if shape.layer == layer]
        length = sum(shape.geometry.length for shape in mine)
        message = (
            f"{length:.1f} mm of outline will be scored {inset:g} mm inside the edge, on a layer "
            f"of their own: {layer}"
        )
        yield note("edges-scored", message, elements=[shape.id for shape in mine])
    yield from _thin(groups, areas, inset)


def _thin(
    groups: Sequence[Sequence[Shape]], areas: Sequence[MultiPolygon], inset: float
) -> Iterator[Finding]:
    """Places that are too thin for a line on either side."""
    if inset <= 0:
        return
    found = [residue(area, 2 * inset).pieces for area in areas]
    pieces = np.concatenate([mine[shapely.area(mine) > SPECK] for mine in found])
    if not len(pieces):
        return
    ids = [
        shape.id
        for group, mine in zip(groups, found, strict=True)
        for shape in group
        if (shapely.area(mine) > SPECK).any()
    ]
    is_one = len(pieces) == 1
    message = (
        f"{len(pieces)} place{'' if is_one else 's'} narrower than {2 * inset:g} mm "
        f"{'has' if is_one else 'have'} no scored edge"
    )
    remedy = "thicken them in the drawing, give score-edges a smaller inset, or score them as lines"
    at = shapely.point_on_surface(pieces[int(np.argmax(shapely.area(pieces)))])
    yield replace(warn("edge-left-out", message, remedy, elements=ids), spot=(at.x, at.y))
