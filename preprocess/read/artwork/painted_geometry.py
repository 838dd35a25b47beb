"""Painted elements with their geometry in mm, bounded by clips and by the page."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import shapely

from preprocess.errors import wrong
from preprocess.geometry.lines.stroking import outline_stroke
from preprocess.geometry.offset.offset import grow_area
from preprocess.geometry.overlay.booleans import cut_lines, intersection
from preprocess.geometry.overlay.crossings import count_crossings
from preprocess.read.shapes.fill_and_stroke import (
    fill_area,
    flatten_outlines,
    model_stroke,
    simple_areas,
    stroke_lines,
    too_many_dashes,
)
from preprocess.read.shapes.flatten import Contour, too_many_points_error
from preprocess.read.shapes.regions import intersect_clip
from preprocess.read.xml.affine import largest_stretch

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import MultiLineString, MultiPolygon

    from preprocess.errors import UserError
    from preprocess.model.artwork.shape import Stroke
    from preprocess.model.options.reading import ReadingOptions
    from preprocess.read.messages.remarks import Remarks
    from preprocess.read.scene.painted import Ink, PaintedOutline

SPECK = 1e-9
"""Areas in mm² below this are what rounding leaves."""

_HAIR = 1e-6
_EDGE = 1e-3
"""Lines in mm beyond the page by less than this still count as on it: cuts along its edge."""

_CORNER = 2**0.5
"""Square caps reach this many half widths beyond the end of a line."""


@dataclass(frozen=True, slots=True)
class PaintedGeometry:
    """One fill or stroke in mm. `exact` strokes are cut at clips along their centre line.

    Other strokes keep their centre line as long as some of their width still shows. `level` is
    that of a band of a gradient; `blank` is its opaque light part, which is not marked.
    """

    painted: PaintedOutline
    ink: Ink
    geometry: MultiPolygon | MultiLineString
    stroke: Stroke | None = None
    exact: bool = False
    level: int | None = None
    blank: bool = False

    @property
    def reach(self) -> float:
        """Half the width of the stroke in mm; 0 for an area."""
        return self.stroke.width * largest_stretch(self.stroke.matrix) / 2 if self.stroke else 0.0

    def body(self, tolerance: float) -> MultiPolygon:
        """The painted area."""
        if self.stroke is None:
            return self.geometry
        return outline_stroke(self.geometry, self.stroke, tolerance=tolerance)


def painted_geometries(
    painted: Sequence[PaintedOutline],
    exact: Sequence[bool],
    options: ReadingOptions,
    remarks: Remarks,
) -> list[PaintedGeometry]:
    """Geometry in mm of all painted outlines; remarks on outlines that paint nothing.

    Raises:
        UserError: it has more points than the recipe's limits allow.
    """
    found, empty, left, crossing = [], [], options.limits.vertices, options.limits.crossings
    outlines = flatten_outlines(painted, options.drawing.tolerance, left)
    areas = simple_areas(painted, outlines)
    for one, cut, contours, area in zip(painted, exact, outlines, areas, strict=True):
        if one.ink is None:
            continue
        if one.pen is None and area is None:
            crossing -= count_crossings([c.points for c in contours], crossing)
        if crossing < 0:
            raise _too_many_crossings(one, options.limits.crossings)
        piece = _piece(one, one.ink, contours, area, exact=cut)
        if piece.geometry.is_empty:
            empty.append(one)
            continue
        _remark_on(one, contours, remarks)
        left -= int(shapely.get_num_coordinates(piece.geometry))  # dashes make more of them
        if left < 0:
            raise too_many_points_error(options.limits.vertices)
        found.append(piece)
    drawn = {piece.painted.name for piece in found}
    for one in empty:
        if one.name not in drawn:
            remarks.on("draws-nothing", one)
    return found


def _too_many_crossings(one: PaintedOutline, most: int) -> UserError:
    place = f" (line {one.line})" if one.line else ""
    return wrong(
        f"filled paths cross themselves more than {most} times, up to {one.name}{place}",
        "draw outlines that do not cross, or raise limits: crossings in the recipe",
    )


def _piece(
    one: PaintedOutline,
    ink: Ink,
    contours: Sequence[Contour],
    area: MultiPolygon | None,
    *,
    exact: bool,
) -> PaintedGeometry:
    if one.pen is None:
        return PaintedGeometry(one, ink, fill_area(one, contours, area))
    lines, stroke = stroke_lines(one.pen, contours), model_stroke(one.pen, one.clip)
    piece = PaintedGeometry(one, ink, lines, stroke, exact)
    if one.clip is None:
        return piece
    margin = 0.0 if exact else piece.reach * _CORNER
    return replace(piece, geometry=cut_lines(lines, _grown(one.clip, margin)))


def _grown(area: MultiPolygon, by: float) -> MultiPolygon:
    return grow_area(area, by, join="mitre") if by > 0 and not area.is_empty else area


def _remark_on(one: PaintedOutline, contours: Sequence[Contour], remarks: Remarks) -> None:
    if one.pen is not None and too_many_dashes(one.pen, contours):
        remarks.on("too-many-dashes", one)
    if one.pen is None and any(_gapes(contour) for contour in contours):
        remarks.on("open-filled-path", one)


def _gapes(contour: Contour) -> bool:
    """Test whether the fill adds an edge that was not drawn, and encloses something with it."""
    if contour.closed or len(contour.points) <= 2:  # noqa: PLR2004
        return False
    return bool((contour.points[0] != contour.points[-1]).any())


def crop_to_page(
    pieces: Sequence[PaintedGeometry], page: MultiPolygon, remarks: Remarks
) -> list[PaintedGeometry]:
    """Crop pieces to the page; remarks on pieces that reach beyond it."""
    left, top, right, bottom = page.bounds
    found = []
    boxes = shapely.bounds([piece.geometry for piece in pieces]).reshape(-1, 4).tolist()
    for piece, (x0, y0, x1, y1) in zip(pieces, boxes, strict=True):
        over = max(left - x0, top - y0, x1 - right, y1 - bottom)
        if over > _HAIR:
            remarks.on("beyond-page", piece.painted)
        if over + piece.reach > _HAIR:
            piece = _bounded(piece, page, cut=over > _HAIR)  # noqa: PLW2901
        if not piece.geometry.is_empty:
            found.append(piece)
    return found


def _bounded(piece: PaintedGeometry, page: MultiPolygon, *, cut: bool) -> PaintedGeometry:
    if piece.stroke is None:
        return replace(piece, geometry=intersection(piece.geometry, page))
    stroke = replace(piece.stroke, within=intersect_clip(piece.stroke.within, page))
    geometry = piece.geometry
    if cut:
        margin = _EDGE if piece.exact else piece.reach * _CORNER + _EDGE
        geometry = cut_lines(geometry, _grown(page, margin))
    return replace(piece, geometry=geometry, stroke=stroke)


def drawn_extent(pieces: Sequence[PaintedGeometry]) -> tuple[float, float]:
    """Right and bottom end of everything drawn, from (0, 0) on."""
    boxes = shapely.bounds([piece.geometry for piece in pieces]).reshape(-1, 4).tolist()
    ends = [(0.0, 0.0)]
    for piece, (_, _, right, bottom) in zip(pieces, boxes, strict=True):
        ends.append((right + piece.reach, bottom + piece.reach))
    return max(x for x, _ in ends), max(y for _, y in ends)
