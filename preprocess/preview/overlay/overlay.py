"""The overlay: one SVG that shows what a run changed, for the eye and for print."""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely

from preprocess.marking.machine.machine_field import field_box
from preprocess.model.artwork.output import output_layers
from preprocess.model.bench.machine import Machine
from preprocess.preview.drawing.as_drawn import as_placed, centred, in_words
from preprocess.preview.drawing.backdrop import backdrop_entries
from preprocess.preview.drawing.canvas import TEXT_SIZE, group, mm, path, text, wrap_text
from preprocess.preview.drawing.decimate import decimate
from preprocess.preview.drawing.entries import counted
from preprocess.preview.drawing.legend import legend
from preprocess.preview.drawing.page_layout import (
    MARGIN,
    STRIP,
    WIDTH,
    entries_box,
    scale_strip,
    sheet_viewport,
    shows_field,
)
from preprocess.preview.overlay.change_entries import change_entries, layer_entries
from preprocess.preview.overlay.datum_marks import datum_entries
from preprocess.preview.overlay.difference import compare_artworks
from preprocess.preview.overlay.insets import choose_details, detail_flags, inset_row
from preprocess.write.svg.layer_colours import assign_colours

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from preprocess.model.artwork.artwork import Artwork
    from preprocess.preview.drawing.canvas import Viewport
    from preprocess.preview.drawing.entries import LegendEntry
    from preprocess.preview.overlay.difference import Difference

_TITLE = 4.6
_CARD = "Bars strike whatever lies under them: lay a matt sacrificial card there, never bare metal."

_DEFAULT = Machine()


def overlay_svg(
    before: Artwork,
    after: Artwork,
    *,
    machine: Machine = _DEFAULT,
    colours: Mapping[str, str] | None = None,
    title: str = "",
) -> bytes:
    """Show what lies between a drawing as read and the output.

    The sheet is 180 mm wide; the artwork is drawn as large as it fits, the scale is stated.
    A drawing that was placed is compared as it lies afterwards. Hue tells the layers apart;
    changes are told by pattern and lightness.

    Args:
        before: the artwork as read.
        after: the artwork as it is written.
        machine: for its field.
        colours: #rrggbb by output id; the default colours unless given.
        title: what to call the design.
    """
    moved, matrix = as_placed(before, after)
    remarks = (
        [] if matrix is None else [f"The drawing was {in_words(matrix)}; shown as it lies now."]
    )
    return _sheet(compare_artworks(moved, after), after, machine, colours, title, remarks)


def compare_svg(before: Artwork, after: Artwork, *, title: str = "") -> bytes:
    """Show what differs between any two drawings, laid page centre on page centre."""
    there = centred(before, after)
    return _sheet(compare_artworks(there, after), after, _DEFAULT, None, title, [])


def _sheet(
    difference: Difference,
    after: Artwork,
    machine: Machine,
    colours: Mapping[str, str] | None,
    title: str,
    remarks: Sequence[str],
) -> bytes:
    outputs = output_layers(after)
    colours = assign_colours(outputs, {}, machine)[0] if colours is None else colours
    entries = _entries(difference, after, machine, colours)
    box = entries_box([e for e in entries if not e.hidden])
    shown, closed = decimate(entries, sheet_viewport(box, 0.0)[0].scale)
    remarks = [*remarks, _summary(difference, else_=bool(remarks)), _coarse(closed)]
    head, y = _head(title, remarks)
    placed, height = sheet_viewport(box, y)
    body = [line for n, entry in enumerate(shown) for line in _drawn(entry, n, placed)]
    chosen, count = choose_details(difference, placed.scale)
    body += detail_flags(chosen, placed)
    y += height + STRIP / 2
    scale = scale_strip(placed.scale, outputs, y)
    enlarged, y = inset_row(chosen, count, [e for e in entries if not e.hidden], y + STRIP / 2 + 1)
    foot, end = legend(entries, y)
    if not difference.bars.is_empty:
        foot.append(text(MARGIN, end + TEXT_SIZE, _CARD))
        end += TEXT_SIZE + 2
    lines = [*head, *group("picture", "The artwork", body), *scale, *enlarged, *foot]
    return _document([p for e in entries for p in e.patterns], lines, end + MARGIN / 2)


def _entries(
    difference: Difference,
    after: Artwork,
    machine: Machine,
    colours: Mapping[str, str],
) -> list[LegendEntry]:
    field = field_box(after, machine)
    marks = [*layer_entries(difference, colours), *change_entries(difference)]
    shown = shows_field(field, [*backdrop_entries(after, None, hide_field=True), *marks])
    around = backdrop_entries(after, field, hide_field=not shown)
    seen = shapely.box(*entries_box([e for e in [*around, *marks] if not e.hidden]))
    return [*around, *datum_entries(after, machine, seen), *marks]


def _summary(difference: Difference, *, else_: bool) -> str:
    was, now = difference.paths
    counts = f"{counted(was, 'path')} became {now}." if was != now else ""
    if not difference.is_none:
        return counts
    nothing = "Nothing else was changed" if else_ else "Nothing was changed"
    return f"{nothing} to the eye; {counts}" if counts else f"{nothing}."


def _coarse(closed: float) -> str:
    if not closed:
        return ""
    return f"Very fine artwork: gaps below {closed:g} mm on this sheet are drawn closed."


def _head(title: str, remarks: Sequence[str]) -> tuple[list[str], float]:
    """Title and remarks, and where they end."""
    words = f"{title}: before and after" if title else "Before and after"
    lines, y = [], MARGIN
    for line in wrap_text(words, WIDTH - 2 * MARGIN, size=_TITLE):
        lines.append(text(MARGIN, y + _TITLE * 0.8, line, size=_TITLE, bold=True))
        y += _TITLE * 1.3
    for line in wrap_text(" ".join(remarks), WIDTH - 2 * MARGIN):
        lines.append(text(MARGIN, y + TEXT_SIZE, line))
        y += TEXT_SIZE * 1.4
    return group("head", words, lines), y + 1.0


def _drawn(entry: LegendEntry, number: int, placed: Viewport) -> list[str]:
    if entry.geometry.is_empty:
        return []
    words = f"{entry.words} ({entry.amount})" if entry.amount else entry.words
    return group(f"entry-{number}", words, path(placed.data(entry.geometry), entry.paint))


def _document(patterns: Sequence[str], lines: Sequence[str], height: float) -> bytes:
    size = f'width="{mm(WIDTH)}mm" height="{mm(height)}mm" viewBox="0 0 {mm(WIDTH)} {mm(height)}"'
    start = (
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" version="1.1" {size}>',
        "<title>Before and after</title>",
        *(["<defs>", *patterns, "</defs>"] if patterns else []),
        f'<rect width="{mm(WIDTH)}" height="{mm(height)}" fill="#ffffff"/>',
    )
    return "\n".join([*start, *lines, "</svg>", ""]).encode()
