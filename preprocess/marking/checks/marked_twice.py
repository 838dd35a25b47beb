"""Double marking: areas over areas, and lines over areas."""

from __future__ import annotations

import math
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.findings import Finding, note, warn
from preprocess.geometry.base.intersecting_pairs import interiors_intersect, intersecting_pairs
from preprocess.geometry.base.normalise import polygons_of
from preprocess.geometry.overlay.booleans import union
from preprocess.geometry.overlay.shared_edges import close_to_others
from preprocess.marking.job.plan import traced_lines
from preprocess.model.artwork.settings import Operation

if TYPE_CHECKING:
    from shapely import MultiPolygon

    from preprocess.model.artwork.output import OutputLayer

_SPECK = 1e-3
"""Areas in mm² and lengths in mm below this are not worth a finding."""


def marked_twice(outputs: tuple[OutputLayer, ...]) -> list[Finding]:
    """Overlaps of layers, of shapes within a layer, and lines that run across engraved areas."""
    engraved = [(o, _area(o)) for o in outputs if o.operation is Operation.ENGRAVE]
    found = []
    for (one, area), (other, area2) in combinations(engraved, 2):
        twice = _overlap(area, area2)
        if twice > _SPECK:
            message = (
                f"{one.id} and {other.id} overlap by {twice:.2f} mm², which would be marked twice"
            )
            remedy = (
                "cut one away from the other in the drawing, or put both in one layer and merge"
            )
            found.append(warn("marked-twice", message, remedy))
    within = [f for output, area in engraved for f in _overlaps_within(output, area)]
    return found + within + _lines_over(outputs, engraved)


def _overlap(one: MultiPolygon, other: MultiPolygon) -> float:
    """Area of what lies in both, mm²; parts of one lie apart, so their pairs can be added up."""
    mine, theirs = shapely.get_parts(one), shapely.get_parts(other)
    first, second = intersecting_pairs(mine, theirs)
    over = interiors_intersect(
        mine[first], theirs[second]
    )  # quicker asked: most only share a border
    first, second = first[over], second[over]
    return math.fsum(shapely.area(shapely.intersection(mine[first], theirs[second])))


def _lines_over(
    outputs: tuple[OutputLayer, ...], engraved: list[tuple[OutputLayer, MultiPolygon]]
) -> list[Finding]:
    """Lines across engraved areas: often meant, so no more than a note."""
    parts = np.array([part for _, area in engraved for part in area.geoms], dtype=object)
    found = []
    for output in outputs:
        if output.operation is Operation.ENGRAVE:
            continue
        lines = traced_lines(output.shapes)
        crossed = np.unique(intersecting_pairs(shapely.get_parts(lines), parts, "intersects")[1])
        length = lines.intersection(union(parts[crossed])).length
        if length > _SPECK:
            message = f"{length:.1f} mm of {output.id} run across engraved areas"
            remedy = "keep them if intended; else remove the lines or the areas in the drawing"
            found.append(note("lines-across-area", message, remedy))
    return found


def _area(output: OutputLayer) -> MultiPolygon:
    parts = polygons_of([shape.geometry for shape in output.shapes if shape.is_area])
    return union(parts) if close_to_others(parts).any() else shapely.multipolygons(parts)


def _overlaps_within(output: OutputLayer, united: MultiPolygon) -> list[Finding]:
    areas = [shape.geometry.area for shape in output.shapes if shape.is_area]
    if len(areas) < 2:  # noqa: PLR2004 - one cannot overlap
        return []
    twice = sum(areas) - united.area
    if twice <= _SPECK:
        return []
    message = f"areas of {output.id} overlap by {twice:.2f} mm², which would be marked twice"
    return [warn("overlap-in-layer", message, "put merge among the passes")]
