"""Gradients and greys under the recipe's policy: solid, in bands, or cut at a threshold."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from preprocess.geometry.base.normalise import as_lines
from preprocess.geometry.overlay.partition import partition_area
from preprocess.model.artwork.settings import Operation
from preprocess.read.paint.gradient_levels import (
    CLEAR_CLASS,
    COVER_CLASS,
    GradientSections,
    gradient_sections,
    page_contrast,
    paint_level,
    repeat_sections,
)
from preprocess.read.scene.painted import GradientPaint, Ink

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import MultiPolygon

    from preprocess.arrays import Floats, Indices
    from preprocess.geometry.lines.isolines import LinearIsolines, RadialIsolines
    from preprocess.geometry.overlay.partition import Classify
    from preprocess.model.options.reading import LayerRule, ReadingOptions
    from preprocess.model.options.shades import Shades
    from preprocess.read.artwork.painted_geometry import PaintedGeometry
    from preprocess.read.messages.remarks import Remarks

LevelAreas = dict[int, "MultiPolygon"]
"""Levels and unmarked classes with their areas."""


def cut_into_bands(
    pieces: Sequence[PaintedGeometry],
    rules: Sequence[LayerRule | None],
    options: ReadingOptions,
    remarks: Remarks,
) -> list[PaintedGeometry]:
    """Cut shaded areas by the recipe's policy; the order of painting stays.

    A light part that is opaque stays as a blank piece in the colour of the page: it is not
    marked, and takes away what lies under it.
    """
    return [
        new
        for piece, rule in zip(pieces, rules, strict=True)
        for new in _cut(piece, _policy(piece, rule, options), options, remarks)
    ]


def _policy(
    piece: PaintedGeometry, rule: LayerRule | None, options: ReadingOptions
) -> Shades | None:
    """The policy for a piece; None where it stays whole."""
    swept = piece.stroke is None and (rule is None or rule.operation is Operation.ENGRAVE)
    if piece.ink.shade is not None:
        return options.shades if swept else None
    flat = options.shades.flat_fills and not options.shades.is_solid
    is_page = piece.ink.colour == options.drawing.page_colour.lower()
    return options.shades if swept and flat and not is_page else None


def _cut(
    piece: PaintedGeometry, policy: Shades | None, options: ReadingOptions, remarks: Remarks
) -> list[PaintedGeometry]:
    ink, page = piece.ink, options.drawing.page_colour.lower()
    if policy is None:
        if ink.shaded:
            remarks.on("gradient-as-solid", piece.painted, _span(ink.shade))
        return [piece]
    if ink.shade is None:
        found: LevelAreas | None = {
            paint_level(page_contrast(ink.colour, page), ink.alpha, policy): piece.geometry
        }
    else:
        found = _classes(piece.geometry, ink.shade, policy, options.drawing.tolerance)
    if found is None:
        remarks.on("too-many-shades", piece.painted)
        return [piece]
    _tell(piece, found, policy, remarks)
    return [_part(piece, level, area, policy, page) for level, area in found.items() if level]


def _part(
    piece: PaintedGeometry, level: int, area: MultiPolygon, policy: Shades, page: str
) -> PaintedGeometry:
    if level == COVER_CLASS:
        return replace(piece, geometry=area, ink=Ink(page), blank=True)
    return replace(piece, geometry=area, level=level if policy.bands else None)


def _classes(
    area: MultiPolygon, shade: GradientPaint, policy: Shades, tolerance: float
) -> LevelAreas | None:
    """Class to area; None when there would be too many cuts."""
    one = gradient_sections(shade.stops, shade.spread, policy, shade.veil)
    bounds = area.bounds
    reach = shade.course.reach(bounds)
    found = repeat_sections(one, shade.spread, reach)
    if found is None:
        return None
    borders = shade.course.borders(bounds)
    if len(set(found.classes)) == 1 and not borders:
        return {found.classes[0]: area}
    cuts = [cut for cut in found.cuts if reach[0] <= cut <= reach[1]]
    lines = [*borders, *(shade.course.line(cut, bounds, tolerance) for cut in cuts)]
    drawn = as_lines([line for line in lines if line is not None])
    return partition_area(area, drawn, _classifier(shade.course, found))


def _classifier(course: LinearIsolines | RadialIsolines, found: GradientSections) -> Classify:
    classes, cuts = np.array(found.classes), np.array(found.cuts)

    def classify(points: Floats) -> Indices:
        offsets = course.at(points)
        return np.where(np.isnan(offsets), CLEAR_CLASS, classes[np.searchsorted(cuts, offsets)])

    return classify


def _tell(piece: PaintedGeometry, found: LevelAreas, policy: Shades, remarks: Remarks) -> None:
    marked = {
        level: area.area for level, area in found.items() if level not in {CLEAR_CLASS, COVER_CLASS}
    }
    share = sum(marked.values()) / max(piece.geometry.area, 1e-300)
    if not marked:
        remarks.on("shade-too-light", piece.painted)
    elif piece.ink.shade is None:
        return
    elif policy.is_solid:
        remarks.on("gradient-as-solid", piece.painted, _span(piece.ink.shade))
    elif policy.bands:
        levels = ", ".join(f"level {k}: {marked[k]:.2f} mm²" for k in sorted(marked))
        remarks.on("gradient-in-bands", piece.painted, levels)
    else:
        remarks.on("gradient-cut", piece.painted, f"{100 * share:.0f} % of its area is marked")


def _span(shade: GradientPaint | None) -> str:
    """The colours of a gradient in words."""
    return " to ".join(dict.fromkeys((shade.colours[0], shade.colours[-1]))) if shade else ""
