"""The thumbnail, and what was changed: a picture whose layers can be hidden, with its key."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import shapely

from preprocess.marking.machine.machine_field import field_box
from preprocess.model.artwork.output import output_layers
from preprocess.model.artwork.settings import Operation
from preprocess.preview.drawing.as_drawn import as_placed
from preprocess.preview.drawing.backdrop import backdrop_entries, part_entries
from preprocess.preview.drawing.canvas import INK, Paint, Viewport, group, mm, path, rectangle
from preprocess.preview.drawing.entries import LegendEntry, Section
from preprocess.preview.drawing.page_layout import entries_box, shows_field
from preprocess.preview.overlay.change_entries import change_entries, layer_entries
from preprocess.preview.overlay.datum_marks import datum_entries
from preprocess.preview.overlay.difference import compare_artworks
from preprocess.preview.sheet.quantities import figure
from preprocess.preview.sheet.sheet_job import fit_viewport, inline_svg, joint_box, svg_text
from preprocess.write.svg.check_square import SQUARE_SIDE, check_square
from preprocess.write.svg.xml_text import escape_text

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.preview.sheet.sheet_job import Box, SheetJob

_THUMBNAIL = 60.0, 30.0
_OVERLAY = 118.0, 52.0
_SWATCH = 9.0, 4.5
_RULERS = (100, 50, 20, 10, 5, 2, 1, 0.5, 0.2, 0.1)
_SECTIONS = (Section.LAYER, Section.CHANGE, Section.PLACE)


@dataclass(frozen=True, slots=True, kw_only=True)
class OverlayKey:
    """One line of the key: a swatch, words, an amount; `layer` is the id of what it hides."""

    layer: str
    swatch: str
    words: str
    amount: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OverlayView:
    """The picture, what to say below it, and the key by headings."""

    picture: str
    caption: str
    keys: list[tuple[str, list[OverlayKey]]]


def thumbnail(job: SheetJob) -> str:
    """The part with its art in the colours of the file."""
    view, size = fit_viewport(_shown(job), *_THUMBNAIL)
    lines = [line for entry in part_entries(job.after) for line in _drawn(entry, view)]
    for output in output_layers(job.after):
        colour, filled = job.colours[output.id], output.operation is Operation.ENGRAVE
        paint = Paint(fill=colour) if filled else Paint(stroke=colour, width=0.25)
        for shape in output.shapes:
            area = shape.geometry
            lines += path(view.data(area), paint)
            if shape.bars is not None:
                lines += path(view.data(shape.bars), paint)
    words = f"{escape_text(job.title)} as it will be marked, in the colours of its layers"
    return inline_svg(svg_text(words, lines, size[2:]), "thumbnail")


def overlay_view(job: SheetJob) -> OverlayView:
    """What stays, what is new, what is gone: the drawing as read against the output."""
    entries = _entries(job)
    view, size = fit_viewport(_shown(job, entries), *_OVERLAY)
    layered = [(entry, f"entry-{n}") for n, entry in enumerate(entries)]
    lines = [
        line
        for entry, name in layered
        if not entry.hidden
        for line in group(name, _said(entry), _drawn(entry, view))
    ]
    bar, ruler = _ruler(view.scale, size)
    defs = [one for entry in entries for one in entry.patterns]
    high = size[3] + 4.0
    words = f"{escape_text(job.title)}: what stays, what was added, what was taken away"
    picture = inline_svg(svg_text(words, [*lines, *bar], (size[2], high), defs), "overlay")
    around = "".join(f" Around it: {entry.words}." for entry in entries if entry.hidden)
    caption = f"The scale bar is {ruler} long.{around}"
    return OverlayView(picture=picture, caption=caption, keys=_keys(layered))


def _entries(job: SheetJob) -> list[LegendEntry]:
    moved, _ = as_placed(job.before, job.after)
    difference = compare_artworks(moved, job.after)
    field = field_box(job.after, job.bench.machine_or_default)
    page, *around = backdrop_entries(job.after, field, hide_field=True)
    found = [*layer_entries(difference, job.colours), *change_entries(difference)]
    marks = [entry for entry in found if not entry.geometry.is_empty]
    shown = shows_field(shapely.box(*page.geometry.bounds), [*part_entries(job.after), *marks])
    found = [replace(page, hidden=not shown), *around, *_squares(job), *marks]
    seen = shapely.box(*entries_box([entry for entry in found if not entry.hidden]))
    crosses = datum_entries(job.after, job.bench.machine_or_default, seen)
    return [*found, *(entry for entry in crosses if not entry.hidden)]


def _squares(job: SheetJob) -> list[LegendEntry]:
    """The check squares, thin in their own colour."""
    shape = check_square(job.after)
    if shape is None:
        return []
    words = f"check squares of {figure(SQUARE_SIDE, 1)} mm: a guide, not marked"
    colour = job.colours.get(shape.layer, INK)
    paint = Paint(stroke=colour, width=0.3)
    return [LegendEntry(section=Section.PLACE, geometry=shape.geometry, paint=paint, words=words)]


def _shown(job: SheetJob, entries: Sequence[LegendEntry] = ()) -> Box:
    """Box of art, bars and parts; the page where there are none."""
    after, page = job.after, job.after.page
    marked = (s for s in after.shapes if s.operation is not Operation.GUIDE)
    shapes = (g for s in marked for g in (s.geometry, s.bars) if g is not None)
    changed = (e.geometry for e in entries if not e.hidden)
    found = joint_box([*shapes, *changed, *after.parts, *after.keep_off])
    corner = (page.left, page.top, page.left + page.width, page.top + page.height)
    return found or corner


def _drawn(entry: LegendEntry, view: Viewport) -> list[str]:
    return path(view.data(entry.geometry), entry.paint)


def _said(entry: LegendEntry) -> str:
    return f"{entry.words} ({entry.amount})" if entry.amount else entry.words


def _ruler(scale: float, size: Box) -> tuple[list[str], str]:
    """A scale bar of at most a third of the picture, and its length."""
    length = next((n for n in _RULERS if n * scale <= size[2] / 3), _RULERS[-1])
    y = size[3] + 2.0
    data = f"M1 {mm(y - 1)} V{mm(y + 1)} M1 {mm(y)} h{mm(length * scale)}"
    data += f" M{mm(1 + length * scale)} {mm(y - 1)} V{mm(y + 1)}"
    return path(data, Paint(stroke=INK, width=0.4)), f"{figure(length, 1)} mm"


def _keys(layered: Sequence[tuple[LegendEntry, str]]) -> list[tuple[str, list[OverlayKey]]]:
    return [
        (str(section), keys)
        for section in _SECTIONS
        if (keys := [_key(e, n) for e, n in layered if e.section is section and not e.hidden])
    ]


def _key(entry: LegendEntry, name: str) -> OverlayKey:
    swatch = _swatch(entry, name)
    return OverlayKey(
        layer=f"overlay-{name}", swatch=swatch, words=entry.words, amount=entry.amount
    )


def _swatch(entry: LegendEntry, name: str) -> str:
    wide, high = _SWATCH
    lines = entry.geometry.geom_type == "MultiLineString"
    data = (
        f"M0.5 {mm(high / 2)} H{mm(wide - 0.5)}"
        if lines
        else rectangle(0.3, 0.3, wide - 0.6, high - 0.6)
    )
    return inline_svg(svg_text("", path(data, entry.paint), _SWATCH, entry.patterns), f"key-{name}")
