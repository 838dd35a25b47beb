"""Measures of a drawing for its first recipe: part, strokes, areas, narrow ends, rows."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.errors import UserError
from preprocess.findings import stops
from preprocess.geometry.base.sweep import sweep_area
from preprocess.geometry.offset.opening import inscribed_widths, opening_residue
from preprocess.geometry.overlay.booleans import union
from preprocess.geometry.tips.find_tips import find_tips
from preprocess.marking.job.rows import spans_of
from preprocess.model.artwork.shape import outlined_fills
from preprocess.model.bench.part import Part
from preprocess.model.options.fonts import Fonts
from preprocess.model.options.reading import ReadingOptions
from preprocess.read.reader import read
from preprocess.recipe.starter.frames import closed_line, encloses_rest, nameless_frame
from preprocess.recipe.starter.shape_groups import Grouping, engraved_area, group_shapes

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import MultiPolygon

    from preprocess.findings import Finding
    from preprocess.model.artwork.artwork import Artwork, Page
    from preprocess.model.artwork.shape import Shape

FIRST_PITCH = 0.1
"""mm between rows that a first recipe asks for."""

HAIRLINE = 0.3
"""Strokes up to this width, mm, hold no more than three rows: better scored than engraved."""

NARROW_TIP = 0.4
"""Ends narrower than this, mm, hold fewer than four rows."""

_SUBSTITUTE = "sans-serif"
"""Font that stands in for missing ones."""

_FONTS = frozenset({"font-missing", "letter-missing"})

_EDGE = 0.05
"""mm by which what lies on a part may reach over the drawn line."""

_SAME = 0.01
"""Share by which widths of one pen may differ."""

_NAME = re.compile(r"[A-Za-z_][\w-]*\Z", re.ASCII)


@dataclass(frozen=True, slots=True, kw_only=True)
class RowSpans:
    """Spans of the rows of all engraved areas together, in mm: least, middle, greatest."""

    count: int
    shortest: float
    median: float
    longest: float


_UNEVEN = 1.5
"""Longest over shortest row from which heat is uneven."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawingMeasures:
    """A drawing in figures; lengths in mm, areas in mm².

    `substitute` is a font that has to stand in for those that the drawing asks for and that are
    not at hand. `part` is the id of a closed line around everything else, `edge` its width and
    height; `keep_off` are the ids of empty closed lines drawn like it, `nameless` counts those
    without an id. `frame` is the selector of a closed line without id around all the rest, and
    `edge` its width and height; `outlined` counts strokes in the paint of their own filled shape,
    which belong to it. `strokes` are the painted widths of the others, from the finest. `thinnest`
    is the greatest width of the narrowest piece, `narrow` how much of the area is narrower than
    two widths, `tips` how many ends are narrower than `TIP`.
    """

    page: Page
    size: tuple[float, float]
    grouping: Grouping
    substitute: str | None
    part: str | None
    frame: str | None
    outlined: int
    edge: tuple[float, float]
    keep_off: tuple[str, ...]
    nameless: int
    strokes: tuple[float, ...]
    area: float
    pieces: int
    thinnest: float
    widest: float
    narrow: dict[float, float]
    tips: int
    rows: RowSpans | None
    findings: tuple[Finding, ...]

    @property
    def uneven(self) -> bool:
        """True if short rows among long ones would get hotter."""
        return self.rows is not None and self.rows.longest >= _UNEVEN * self.rows.shortest


def measure_drawing(data: bytes, name: str) -> DrawingMeasures:
    """Read a drawing and measure it.

    Raises:
        UserError: it is no SVG.
    """
    reading = read(data, name, ReadingOptions())
    fonts, stands_in = Fonts(), None
    if any(finding.code in _FONTS for finding in stops(reading.findings)):
        fonts, stands_in = Fonts(substitute=_SUBSTITUTE), _SUBSTITUTE
        reading = read(data, name, ReadingOptions(fonts=fonts))
    part = _part(reading.artwork, data, name)
    holes = _holes(reading.artwork.shapes, part) if part is not None else ()
    keep_off = tuple(dict.fromkeys(s.sources[0].id for s in holes if _has_id(s)))
    if part is not None:
        options = ReadingOptions(
            fonts=fonts,
            parts=(Part(outline=f"#{part.sources[0].id}"),),
            keep_off=tuple(f"#{name}" for name in keep_off),
        )
        reading = read(data, name, options)
    artwork = reading.artwork
    nameless = frozenset(shape.id for shape in holes if not _has_id(shape))
    frame = None if part is not None else nameless_frame(artwork, data, name)
    art = [shape for shape in artwork.shapes if frame is None or shape is not frame[0]]
    around = outlined_fills(art)
    shapes = [shape for shape in art if shape.id not in around]
    edges = engraved_area([shape for shape in art if shape.id in around], 0.0)
    area = union([engraved_area(shapes, HAIRLINE), edges])
    pieces = shapely.get_parts(area)
    wide = inscribed_widths(pieces, FIRST_PITCH / 20) if len(pieces) else np.zeros(1)
    return DrawingMeasures(
        page=artwork.page,
        size=_size([shape.geometry for shape in art]),
        grouping=group_shapes(shapes, HAIRLINE, nameless),
        substitute=stands_in,
        part=None if part is None else part.sources[0].id,
        frame=None if frame is None else frame[1],
        outlined=len(around),
        edge=_size(artwork.parts if frame is None else [frame[0].geometry]),
        keep_off=keep_off,
        nameless=len(nameless),
        strokes=tuple(sorted(s.stroke.width_mm for s in shapes if s.stroke)),
        area=float(area.area),
        pieces=len(pieces),
        thinnest=float(wide.min()),
        widest=float(wide.max()),
        narrow={width: _narrower(area, width) for width in (2 * FIRST_PITCH, NARROW_TIP)},
        tips=len(find_tips(area, NARROW_TIP).tips) if len(pieces) else 0,
        rows=_rows(area),
        findings=reading.findings,
    )


def _narrower(area: MultiPolygon, width: float) -> float:
    return (
        float(shapely.area(opening_residue(area, width).pieces).sum()) if not area.is_empty else 0.0
    )


def _rows(area: MultiPolygon) -> RowSpans | None:
    if area.is_empty:
        return None
    _, top, _, bottom = area.bounds
    rows = np.arange(top + FIRST_PITCH / 2, bottom, FIRST_PITCH)
    spans = spans_of(sweep_area(area, rows), rows).span
    if not len(spans):
        return None
    return RowSpans(
        count=len(spans),
        shortest=float(spans.min()),
        median=float(np.median(spans)),
        longest=float(spans.max()),
    )


def _size(geometries: Sequence[shapely.Geometry]) -> tuple[float, float]:
    if all(geometry.is_empty for geometry in geometries):
        return 0.0, 0.0
    left, top, right, bottom = shapely.total_bounds(list(geometries))
    return float(right - left), float(bottom - top)


def _part(artwork: Artwork, data: bytes, name: str) -> Shape | None:
    """The one fine closed line that goes around all the rest, if there is one with an id."""
    for shape in artwork.shapes:
        own = shape.sources[0].id
        if not (_has_id(shape) and _is_fine(shape) and encloses_rest(shape, artwork, _EDGE)):
            continue
        try:
            read(data, name, ReadingOptions(parts=(Part(outline=f"#{own}"),)))
        except UserError:
            continue
        if all(s.sources[0].id != own for s in artwork.shapes if s is not shape):
            return shape
    return None


def _has_id(shape: Shape) -> bool:
    """Test whether a shape has an id that a recipe can name."""
    return _NAME.match(shape.sources[0].id) is not None


def _is_fine(shape: Shape) -> bool:
    return shape.stroke is not None and shape.stroke.width_mm <= HAIRLINE


def _holes(shapes: Sequence[Shape], part: Shape) -> tuple[Shape, ...]:
    """Closed lines drawn with the pen of the part's outline, with nothing in or across them."""
    alike = {
        n: s for n, s in enumerate(shapes) if s is part or (_is_fine(s) and _same_pen(s, part))
    }
    rings = {n: ring for n, shape in alike.items() if (ring := closed_line(shape)) is not None}
    tree = shapely.STRtree([shape.geometry for shape in shapes])
    empty = (n for n, ring in rings.items() if rings.keys() >= {*tree.query(ring, "intersects")})
    return tuple(shapes[number] for number in empty if shapes[number] is not part)


def _same_pen(one: Shape, other: Shape) -> bool:
    if one.stroke is None or other.stroke is None:
        return False
    like = math.isclose(one.stroke.width_mm, other.stroke.width_mm, rel_tol=_SAME)
    return like and one.sources[0].colour == other.sources[0].colour
