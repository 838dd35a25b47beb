"""Page, field, parts and keep-off areas: what the mark lies on."""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely
from shapely import MultiPolygon

from preprocess.findings import counted
from preprocess.preview.drawing.canvas import INK, Paint
from preprocess.preview.drawing.entries import LegendEntry, Section
from preprocess.preview.drawing.fill_patterns import fill_pattern
from preprocess.preview.drawing.page_layout import page_bounds
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import Polygon

    from preprocess.model.artwork.artwork import Artwork, Page

_THIN = Paint(stroke="#8c8c8c", width=0.2)


def backdrop_entries(
    artwork: Artwork,
    field: Polygon | None,
    *,
    hide_field: bool,
    on_parts: Sequence[LegendEntry] = (),
) -> list[LegendEntry]:
    """Entries from below: page, part, what is shown on parts, keep-off, field."""
    found = [_page(artwork.page), *part_entries(artwork), *on_parts]
    if artwork.keep_off:
        ground = "none" if on_parts else "#ffffff"
        paint = Paint(fill=ground, pattern="no-go", stroke=INK, width=0.25, dash="0.8 0.8")
        net = (fill_pattern("no-go", "net", "#808080", width=0.12),)
        words = "keep-off: nothing may be marked here"
        area = _joined(artwork.keep_off)
        found.append(LegendEntry(Section.PLACE, area, paint, words, patterns=net))
    found += _images(artwork)
    if field is not None:
        left, top, right, bottom = field.bounds
        words = f"field of the machine, {digits(right - left)} × {digits(bottom - top)} mm"
        words += "; it is larger than this picture" if hide_field else ""
        paint = Paint(stroke=INK, width=0.3, dash="2.4 1.2")
        area = MultiPolygon([field])
        found.append(LegendEntry(Section.PLACE, area, paint, words, hidden=hide_field))
    return found


def _images(artwork: Artwork) -> list[LegendEntry]:
    """The outlines of embedded images, each with a line from corner to corner."""
    if not artwork.pictures:
        return []
    lines = [
        line
        for a, b, c, d in (picture.corners for picture in artwork.pictures)
        for line in ((a, b, c, d, a), (a, c), (b, d))
    ]
    words = f"{counted(len(artwork.pictures), 'image')}, carried through untouched"
    return [LegendEntry(Section.PLACE, shapely.MultiLineString(lines), _THIN, words)]


def part_entries(artwork: Artwork) -> list[LegendEntry]:
    """The entry of all printed parts; none where no silhouette is known."""
    if not artwork.parts:
        return []
    paint = Paint(fill="#f3eee0", stroke="#4d4d4d", width=0.35)
    many = len(artwork.parts)
    words = "the printed part" if many == 1 else counted(many, "printed part")
    return [LegendEntry(Section.PLACE, _joined(artwork.parts), paint, words)]


def _page(page: Page) -> LegendEntry:
    area = MultiPolygon([shapely.box(*page_bounds(page))])
    words = f"output page, {digits(page.width)} × {digits(page.height)} mm"
    return LegendEntry(Section.PLACE, area, _THIN, words)


def _joined(areas: Sequence[MultiPolygon]) -> MultiPolygon:
    return MultiPolygon(shapely.get_parts(areas).tolist())
