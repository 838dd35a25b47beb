"""Strokes that are traced on their centre line where a clip or paint of the page hides it.

A stroke keeps its centre line as long as some of its width shows, since it may become an area. If
it is traced instead, its ends lie up to 0.71 of its width beyond what the drawing shows.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.findings import Finding, warn
from preprocess.geometry.overlay.booleans import cut_away, cut_lines
from preprocess.model.artwork.settings import Operation
from preprocess.units import digits

if TYPE_CHECKING:
    from shapely import Geometry, MultiLineString

    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.shape import Shape

_SEEN = 0.05
"""mm beyond which a line is seen to run on: half the width of a fine spot."""


def clipped_stroke_findings(artwork: Artwork) -> list[Finding]:
    """A warning of the lines that are traced where their stroke is hidden; none otherwise."""
    beyond = [(*_farthest_hidden(shape), shape) for shape in artwork.shapes if _is_bounded(shape)]
    told = [one for one in beyond if one[0] > _SEEN]
    if not told:
        return []
    off, spot, worst = max(told, key=lambda one: one[0])
    message = (
        f"{len(told)} line{' is' if len(told) == 1 else 's are'} traced up to {digits(off, 2)} mm "
        "beyond what shows of the stroke: a clip, the page or paint in its colour hides the rest"
    )
    remedy = (
        "give such lines a layer with operation: score or cut, which ends them there; or put "
        "strokes-to-areas among the passes"
    )
    ids = list(dict.fromkeys(shape.id for _, _, shape in told))
    line = worst.sources[0].line if worst.sources else None
    found = warn("traced-where-hidden", message, remedy, elements=ids)
    return [replace(found, spot=spot, line=line, layer=worst.layer)]


def _is_bounded(shape: Shape) -> bool:
    """Test whether a shape is a stroke to be traced that does not show as a whole."""
    stroke = shape.stroke
    if stroke is None or shape.is_area or shape.operation is Operation.GUIDE:
        return False
    return stroke.within is not None or stroke.without is not None


def _farthest_hidden(shape: Shape) -> tuple[float, tuple[float, float]]:
    """How far the line runs from what shows, mm, and where."""
    stroke, found = shape.stroke, [(0.0, (0.0, 0.0))]
    if stroke is not None and stroke.within is not None:
        outside = cut_away(shape.geometry, stroke.within)
        found.append(_farthest(outside, stroke.within))
    if stroke is not None and stroke.without is not None:
        covered = cut_lines(shape.geometry, stroke.without)
        found.append(_farthest(covered, stroke.without.boundary))
    return max(found)


def _farthest(lines: MultiLineString, shown: Geometry) -> tuple[float, tuple[float, float]]:
    places = shapely.get_coordinates(lines)
    if not len(places):
        return 0.0, (0.0, 0.0)
    off = shapely.distance(shapely.points(places), shown)
    at = int(np.argmax(off))
    return float(off[at]), (float(places[at, 0]), float(places[at, 1]))
