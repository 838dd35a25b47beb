"""The heat map: the heat index over the artwork as one SVG, for the eye and for print."""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely
from shapely import MultiPolygon

from preprocess.marking.job.plan import plan_of
from preprocess.model.artwork.output import output_layers
from preprocess.preview.drawing.canvas import TEXT_SIZE, group, mm, path, text, wrap_text
from preprocess.preview.drawing.page_layout import MARGIN, STRIP, WIDTH, scale_strip, sheet_viewport
from preprocess.preview.heat_map.heat_legend import heat_legend, surroundings
from preprocess.preview.heat_map.heat_picture import draw_patches
from preprocess.preview.heat_map.places import (
    DISC,
    choose_findings,
    draw_numbers,
    list_places,
    place_numbers,
)
from preprocess.preview.heat_map.scale import colour_bar, heat_scale

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.findings import Finding
    from preprocess.marking.heat.index import HeatIndex
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.bench.bench import Bench
    from preprocess.preview.drawing.canvas import Viewport
    from preprocess.preview.drawing.entries import LegendEntry
    from preprocess.preview.heat_map.scale import HeatScale

LIMIT = 2_000_000
"""Bytes of the file; what would be larger is drawn coarser, for the eye."""

_TITLE = 4.6
_DETAILS = (1.0, 2.0, 4.0, 8.0, 16.0, 32.0)
_BESIDE = 2 * DISC + 2.0


def heat_map_svg(
    artwork: Artwork,
    heat: HeatIndex,
    *,
    bench: Bench,
    findings: Sequence[Finding] = (),
    title: str,
    like: HeatIndex | None = None,
) -> bytes:
    """Show where the mark gets too heavy or too weak.

    Darker is hotter. The scale is that of the filament's window, so that maps of one filament can
    be laid side by side; without grades it is in medians of the job.

    Args:
        artwork: what the heat was computed of.
        heat: the index.
        bench: machine, filament and parts of the same computation.
        findings: those with a spot, in the artwork's own coordinates, are numbered and listed.
        title: what to call the design.
        like: another heat whose scale to use, as for a map of the drawing before a run.
    """
    data = b""
    for detail in _DETAILS:
        data = _sheet(artwork, heat, bench, findings, (title, detail, heat_scale(like or heat)))
        if len(data) <= LIMIT:
            break
    return data


def _sheet(
    artwork: Artwork,
    heat: HeatIndex,
    bench: Bench,
    findings: Sequence[Finding],
    how: tuple[str, float, HeatScale],
) -> bytes:
    title, detail, scale = how
    plan, others = plan_of(artwork, bench.machine_or_default), surroundings(artwork)
    head, y = _head(title, heat)
    named, left = choose_findings(findings, heat, scale)
    beside = _BESIDE if named else 0.0
    view, height = sheet_viewport(_extent(artwork, others), y + beside)
    height += 2 * beside
    body = [line for n, entry in enumerate(others) for line in _beside(entry, n, view)]
    body += draw_patches(plan, heat, artwork, (view, detail, scale))
    room = (MARGIN, y, WIDTH - MARGIN, y + height)
    places = place_numbers(named, _spots(named, view), room, _lit(artwork, view))
    y += height + STRIP / 2
    ruler = scale_strip(view.scale, output_layers(artwork), y)
    key, y = colour_bar(scale, _unit(heat), y + STRIP / 2)
    foot, y = heat_legend(heat, scale, others, y + 2)
    table, y = list_places(places, artwork.page, left, y + 2)
    numbers = group("numbers", "Places to look at", draw_numbers(places)) if places else []
    lines = [*head, *group("map", "Heat index", body), *numbers, *ruler, *key, *foot, *table]
    return _document(lines, y + MARGIN / 2)


def _head(title: str, heat: HeatIndex) -> tuple[list[str], float]:
    lines, y = [], MARGIN
    for line in wrap_text(f"{title}: predicted heat", WIDTH - 2 * MARGIN, size=_TITLE):
        lines.append(text(MARGIN, y + _TITLE * 0.8, line, size=_TITLE, bold=True))
        y += _TITLE * 1.3
    said = (
        "Darker is hotter: the mark gets heavier there."
        if heat.images
        else ("Nothing to show: nothing is engraved on the part, or its pitch or speed is missing.")
    )
    for line in wrap_text(said, WIDTH - 2 * MARGIN):
        lines.append(text(MARGIN, y + TEXT_SIZE, line))
        y += TEXT_SIZE * 1.4
    if heat.trust:
        lines.append(text(MARGIN, y + TEXT_SIZE, heat.trust, bold=True))
        y += TEXT_SIZE * 1.4
    return group("head", title, lines), y + 1.0


def _unit(heat: HeatIndex) -> str:
    if heat.calibrated:
        return "Heat index: 1 is the patch that was graded even"
    return f"Heat index in medians of this job ({heat.trust})"


def _beside(entry: LegendEntry, number: int, view: Viewport) -> list[str]:
    return group(f"beside-{number}", entry.words, path(view.data(entry.geometry), entry.paint))


def _extent(artwork: Artwork, others: Sequence[LegendEntry]) -> tuple[float, float, float, float]:
    """Box of parts, bars and engraved areas; the page where there are none."""
    boxes = [s.geometry.bounds for s in artwork.shapes if s.is_engraved_area]
    boxes += [entry.geometry.bounds for entry in others]
    page = artwork.page
    if not boxes:
        return page.left, page.top, page.left + page.width, page.top + page.height
    left, top, right, bottom = shapely.total_bounds([shapely.box(*box) for box in boxes])
    return float(left), float(top), float(right), float(bottom)


def _spots(findings: Sequence[Finding], view: Viewport) -> list[tuple[float, float]]:
    points = (view.on_sheet(shapely.Point(f.spot)) for f in findings if f.spot is not None)
    return [(point.x, point.y) for point in points]


def _lit(artwork: Artwork, view: Viewport) -> MultiPolygon:
    """What is engraved, on the sheet, coarsely."""
    areas = [s.geometry for s in artwork.shapes if s.is_engraved_area]
    coarse = shapely.simplify(areas, 1.0 / view.scale)
    return view.on_sheet(MultiPolygon(list(shapely.get_parts(coarse))))


def _document(lines: Sequence[str], height: float) -> bytes:
    size = f'width="{mm(WIDTH)}mm" height="{mm(height)}mm" viewBox="0 0 {mm(WIDTH)} {mm(height)}"'
    start = (
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" version="1.1" {size}>',
        "<title>Predicted heat</title>",
        f'<rect width="{mm(WIDTH)}" height="{mm(height)}" fill="#ffffff"/>',
    )
    return "\n".join([*start, *lines, "</svg>", ""]).encode()
