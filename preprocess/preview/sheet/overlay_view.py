"""The thumbnail, and the changes: a picture whose layers can be hidden, with its key."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import shapely
from shapely import MultiPolygon

from preprocess.geometry.base.bounds import joint_bounds
from preprocess.marking.machine.machine_field import field_box
from preprocess.model.artwork.output import output_layers
from preprocess.model.artwork.own_marks import OwnMark, own_mark
from preprocess.model.artwork.settings import Operation
from preprocess.preview.drawing.as_drawn import as_placed
from preprocess.preview.drawing.backdrop import backdrop_entries, part_entries
from preprocess.preview.drawing.canvas import INK, Paint, group, path, svg_text
from preprocess.preview.drawing.entries import LegendEntry, Section
from preprocess.preview.drawing.html import inline_svg
from preprocess.preview.drawing.page_layout import (
    fit_viewport,
    page_bounds,
    round_length,
    scale_bar,
    shown_bounds,
    shows_field,
)
from preprocess.preview.overlay.change_entries import change_entries, layer_entries
from preprocess.preview.overlay.datum_marks import anchor_entries, datum_entries
from preprocess.preview.overlay.difference import compare_artworks
from preprocess.preview.overlay.power_levels import level_pictures, power_levels, scale_entries
from preprocess.units import digits
from preprocess.write.guides.check_square import SQUARE_SIDE, check_square

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.geometry.base.bounds import Bounds
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.preview.sheet.sheet_job import SheetJob

_THUMBNAIL = 60.0, 30.0
_OVERLAY = 118.0, 52.0
_SWATCH = 9.0, 4.5
_POWER = LegendEntry(
    Section.LAYER, MultiPolygon(), Paint(fill="#979797"), "levels of power within rows:"
)
_SECTIONS = (Section.LAYER, Section.CHANGE, Section.PLACE)


@dataclass(frozen=True, slots=True, kw_only=True)
class OverlayKey:
    """One line of the key: a swatch, words, an amount.

    `layer` is the id of the group that it hides; empty for a level of power.
    """

    layer: str
    swatch: str
    words: str
    amount: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OverlayView:
    """The picture, its caption, and the key by headings."""

    picture: str
    caption: str
    keys: list[tuple[str, list[OverlayKey]]]


def thumbnail(job: SheetJob) -> str:
    """The part with its art in the colours of the file."""
    view, size = fit_viewport(_bounds(job), *_THUMBNAIL)
    lines = [
        ln for one in part_entries(job.after) for ln in path(view.data(one.geometry), one.paint)
    ]
    for output in output_layers(job.after):
        colour, filled = job.colours[output.id], output.operation is Operation.ENGRAVE
        paint = Paint(fill=colour) if filled else Paint(stroke=colour, width=0.25)
        for shape in output.shapes:
            for geometry in (shape.geometry, shape.bars):
                lines += path(view.data(geometry), paint) if geometry is not None else []
    words = f"{job.title} as it will be marked, in the colours of its layers"
    return inline_svg(svg_text(words, lines, size[2:]), "thumbnail")


def overlay_view(job: SheetJob) -> OverlayView:
    """Kept, new and removed marks: the drawing as read against the output."""
    entries = _entries(job)
    view, (_, _, width, height) = fit_viewport(_bounds(job, entries), *_OVERLAY)
    named = [(entry, f"entry-{n}") for n, entry in enumerate(entries)]
    lines = [line for e, name in named if not e.hidden for line in e.drawn(name, view)]
    machine = job.bench.machine_or_default
    levels = power_levels(job.after, machine)
    if levels and machine.grey is not None:
        pictures = level_pictures(levels, view, machine.grey)
        lines += group("power", "Levels of power within rows", pictures)
        named.append((_POWER, "power"))
    length = round_length(width / 3 / view.scale)
    lines += scale_bar(1.0, height + 2.0, length * view.scale)
    patterns = [pattern for entry in entries for pattern in entry.patterns]
    words = f"{job.title}: marks kept, added and removed"
    picture = svg_text(words, lines, (width, height + 4.0), patterns)
    hidden = "; ".join(entry.words for entry in entries if entry.hidden)
    around = f" Around it: {hidden}." if hidden else ""
    return OverlayView(
        picture=inline_svg(picture, "overlay"),
        caption=f"The scale bar is {digits(length)} mm long.{around}",
        keys=_keys([*named, *((entry, "") for entry in scale_entries(levels))]),
    )


def _entries(job: SheetJob) -> list[LegendEntry]:
    after, machine = job.after, job.bench.machine_or_default
    moved, placing = as_placed(job.before, after)
    difference = compare_artworks(moved, after, placed=placing is not None)
    field = field_box(after, machine)
    page, *around = backdrop_entries(after, field, hide_field=True, on_parts=_heights(job))
    marks = [*layer_entries(difference, job.colours), *change_entries(difference)]
    beside = [*part_entries(after), *marks]
    shown = shows_field(shapely.box(*page.geometry.bounds), beside)
    found = [replace(page, hidden=not shown), *around, *_squares(job), *marks]
    found += anchor_entries(after, _with_anchors(after, found, beside))
    crosses = datum_entries(after, machine, shown_bounds(found))
    return [*found, *(entry for entry in crosses if not entry.hidden)]


def _heights(job: SheetJob) -> list[LegendEntry]:
    """Heights of parts that have a model; without one nothing is imported."""
    if not any(job.bench.reliefs):
        return []
    from preprocess.preview.relief.heights_entry import heights_entries

    return heights_entries(job.after, job.bench.reliefs)


def _with_anchors(
    after: Artwork, found: Sequence[LegendEntry], beside: Sequence[LegendEntry]
) -> Bounds:
    """What is shown, and the anchors with it unless they would shrink the rest much."""
    mark, bounds = own_mark(after, OwnMark.ANCHORS), shown_bounds(found)
    if mark is None or not shows_field(shapely.box(*mark.geometry.bounds), beside):
        return bounds
    return joint_bounds([mark.geometry, shapely.box(*bounds)]) or bounds


def _squares(job: SheetJob) -> list[LegendEntry]:
    """The check squares, thin in their own colour."""
    shape = check_square(job.after)
    if shape is None:
        return []
    words = f"check squares of {digits(SQUARE_SIDE)} mm: a guide, not marked"
    paint = Paint(stroke=job.colours.get(shape.layer, INK), width=0.3)
    return [LegendEntry(Section.PLACE, shape.geometry, paint, words)]


def _bounds(job: SheetJob, entries: Sequence[LegendEntry] = ()) -> Bounds:
    """Box of art, bars and parts; the page where there are none."""
    after = job.after
    marked = (s for s in after.shapes if s.operation is not Operation.GUIDE)
    shapes = (g for s in marked for g in (s.geometry, s.bars) if g is not None)
    changed = (e.geometry for e in entries if not e.hidden)
    found = joint_bounds([*shapes, *changed, *after.parts, *after.keep_off])
    return found or page_bounds(after.page)


def _keys(named: Sequence[tuple[LegendEntry, str]]) -> list[tuple[str, list[OverlayKey]]]:
    return [
        (str(section), keys)
        for section in _SECTIONS
        if (keys := [_key(e, n) for e, n in named if e.section is section and not e.hidden])
    ]


def _key(entry: LegendEntry, name: str) -> OverlayKey:
    wide, high = _SWATCH
    drawn = entry.swatch(0.4, 0.4, wide - 0.8, high - 0.8)
    swatch = inline_svg(svg_text("", drawn, _SWATCH, entry.patterns), f"key-{name}")
    layer = f"overlay-{name}" if name else ""
    return OverlayKey(layer=layer, swatch=swatch, words=entry.words, amount=entry.amount)
