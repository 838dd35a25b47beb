"""The overlay: one SVG that shows what a run changed, for the eye and for print."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.findings import counted
from preprocess.marking.machine.machine_field import field_box
from preprocess.model.artwork.output import output_layers
from preprocess.model.bench.machine import Machine
from preprocess.preview.drawing.as_drawn import as_placed, centred, in_words
from preprocess.preview.drawing.backdrop import backdrop_entries
from preprocess.preview.drawing.canvas import TEXT_SIZE, group, text
from preprocess.preview.drawing.decimate import decimate
from preprocess.preview.drawing.legend import legend
from preprocess.preview.drawing.page_layout import (
    MARGIN,
    STRIP,
    heading,
    page_svg,
    page_viewport,
    scale_strip,
    shown_bounds,
    shows_field,
)
from preprocess.preview.overlay.change_entries import change_entries, layer_entries
from preprocess.preview.overlay.datum_marks import anchor_entries, datum_entries
from preprocess.preview.overlay.difference import compare_artworks
from preprocess.preview.overlay.insets import choose_details, detail_flags, inset_row
from preprocess.preview.overlay.power_levels import (
    level_pictures,
    power_levels,
    scale_entries,
)
from preprocess.units import digits
from preprocess.write.svg.layer_colours import assign_colours

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.bench.relief import Relief
    from preprocess.preview.drawing.entries import LegendEntry
    from preprocess.preview.overlay.difference import Difference

_DEFAULT = Machine()
_CARD = "Bars strike whatever lies under them: lay a matt sacrificial card there, never bare metal."


def overlay_svg(
    before: Artwork,
    after: Artwork,
    *,
    machine: Machine = _DEFAULT,
    colours: Mapping[str, str] | None = None,
    title: str = "",
    reliefs: Sequence[Relief | None] = (),
) -> bytes:
    """Show the differences between a drawing as read and the output.

    The page is 180 mm wide; the artwork is drawn as large as it fits, the scale is stated.
    A drawing that was placed is compared as it lies afterwards. Hue tells the layers apart;
    changes are told by pattern and lightness.

    Args:
        before: the artwork as read.
        after: the artwork as it is written.
        machine: for its field.
        colours: #rrggbb by output id; the default colours unless given.
        title: name of the design.
        reliefs: of the parts that have a model, whose heights are shown.
    """
    moved, placing = as_placed(before, after)
    remarks = (
        [] if placing is None else [f"The drawing was {in_words(placing)}; shown as it lies now."]
    )
    found = compare_artworks(moved, after, placed=placing is not None)
    heights = _heights(after, reliefs)
    return _page(found, after, machine, colours, (title, remarks), heights)


def _heights(after: Artwork, reliefs: Sequence[Relief | None]) -> list[LegendEntry]:
    """Nothing is imported for parts without a model."""
    if not any(reliefs):
        return []
    from preprocess.preview.relief.heights_entry import heights_entries

    return heights_entries(after, reliefs)


def compare_svg(before: Artwork, after: Artwork, *, title: str = "") -> bytes:
    """Show the differences between any two drawings, laid page centre on page centre."""
    there = centred(before, after)
    return _page(compare_artworks(there, after), after, _DEFAULT, None, (title, []))


def _page(
    difference: Difference,
    after: Artwork,
    machine: Machine,
    colours: Mapping[str, str] | None,
    said: tuple[str, Sequence[str]],
    heights: Sequence[LegendEntry] = (),
) -> bytes:
    """The page; `said` are title and remarks, `heights` what is shown on the parts."""
    title, remarks = said
    outputs = output_layers(after)
    colours = assign_colours(outputs, {}, machine)[0] if colours is None else colours
    entries = _entries(difference, after, machine, colours, heights)
    bounds = shown_bounds(entries)
    shown, closed = decimate(entries, page_viewport(bounds, 0.0)[0].scale)
    remarks = [*remarks, _summary(difference, else_=bool(remarks)), _coarse(closed)]
    words = f"{title}: before and after" if title else "Before and after"
    head, y = heading(words, [" ".join(remarks)])
    view, height = page_viewport(bounds, y)
    body = [line for n, entry in enumerate(shown) for line in entry.drawn(f"entry-{n}", view)]
    levels = power_levels(after, machine)
    if levels and machine.grey is not None:
        pictures = level_pictures(levels, view, machine.grey)
        body += group("power", "Levels of power within rows", pictures)
    chosen, count = choose_details(difference, view.scale)
    body += detail_flags(chosen, view)
    y += height + STRIP / 2
    scale = scale_strip(view.scale, outputs, y)
    enlarged, y = inset_row(chosen, count, [e for e in entries if not e.hidden], y + STRIP / 2 + 1)
    foot, end = legend([*entries, *scale_entries(levels)], y)
    if not difference.bars.is_empty:
        foot.append(text(MARGIN, end + TEXT_SIZE, _CARD))
        end += TEXT_SIZE + 2
    lines = [*head, *group("picture", "The artwork", body), *scale, *enlarged, *foot]
    patterns = [pattern for entry in entries for pattern in entry.patterns]
    return page_svg("Before and after", lines, end + MARGIN / 2, patterns)


def _entries(
    difference: Difference,
    after: Artwork,
    machine: Machine,
    colours: Mapping[str, str],
    heights: Sequence[LegendEntry],
) -> list[LegendEntry]:
    field = field_box(after, machine)
    marks = [*layer_entries(difference, colours), *change_entries(difference)]
    shown = shows_field(field, [*backdrop_entries(after, None, hide_field=True), *marks])
    around = backdrop_entries(after, field, hide_field=not shown, on_parts=heights)
    bounds = shown_bounds([*around, *marks])
    own = [*datum_entries(after, machine, bounds), *anchor_entries(after, bounds)]
    return [*around, *own, *marks]


def _summary(difference: Difference, *, else_: bool) -> str:
    was, now = difference.paths
    counts = f"{counted(was, 'path')} became {now}." if was != now else ""
    if not difference.is_none:
        return counts
    nothing = "No other" if else_ else "No"
    return f"{nothing} visible change: {counts}" if counts else f"{nothing} change."


def _coarse(closed: float) -> str:
    if not closed:
        return ""
    return f"Very fine artwork: gaps below {digits(closed)} mm on this sheet are drawn closed."
