"""The heat map: the heat index over the artwork as one SVG, for the eye and for print."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.marking.job.plan import plan_of
from preprocess.model.artwork.output import output_layers
from preprocess.preview.drawing.canvas import group
from preprocess.preview.drawing.page_layout import (
    MARGIN,
    STRIP,
    WIDTH,
    heading,
    page_svg,
    page_viewport,
    scale_strip,
)
from preprocess.preview.heat_map.heat_legend import heat_legend
from preprocess.preview.heat_map.heat_picture import drawn_within, heat_bounds, heat_picture
from preprocess.preview.heat_map.places import DISC, choose_findings, list_places
from preprocess.preview.heat_map.scale import colour_bar, heat_scale

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.findings import Finding
    from preprocess.marking.heat.index import HeatIndex
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.bench.bench import Bench
    from preprocess.preview.heat_map.scale import HeatScale

LIMIT = 2_000_000
"""Bytes of the file; a larger one is drawn coarser, for the eye."""

_BESIDE = 2 * DISC + 2.0
_NOTHING = "Nothing to show: nothing is engraved on the part, or its pitch or speed is missing."


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
        artwork: the one that the heat was computed of.
        heat: the index.
        bench: machine, filament and parts of the same computation.
        findings: those with a spot, in the artwork's own coordinates, are numbered and listed.
        title: name of the design.
        like: another heat whose scale to use, as for a map of the drawing before a run.
    """
    scale = heat_scale(like or heat)
    return drawn_within(
        LIMIT, lambda detail: _page(artwork, heat, bench, findings, (title, detail, scale))
    )


def _page(
    artwork: Artwork,
    heat: HeatIndex,
    bench: Bench,
    findings: Sequence[Finding],
    how: tuple[str, float, HeatScale],
) -> bytes:
    title, detail, scale = how
    said = "Darker is hotter: the mark gets heavier there." if heat.images else _NOTHING
    head, y = heading(f"{title}: predicted heat", [said, heat.trust])
    named, left = choose_findings(findings, heat, scale)
    beside = _BESIDE if named else 0.0
    view, height = page_viewport(heat_bounds(artwork), y + beside)
    height += 2 * beside
    room = (MARGIN, y, WIDTH - MARGIN, y + height)
    plan = plan_of(artwork, bench.machine_or_default)
    body, numbers, places = heat_picture(artwork, plan, heat, (view, detail, scale), named, room)
    y += height + STRIP / 2
    ruler = scale_strip(view.scale, output_layers(artwork), y)
    key, y = colour_bar(scale, _unit(heat), y + STRIP / 2)
    foot, y = heat_legend(artwork, heat, scale, y + 2)
    table, y = list_places(places, artwork.page, left, y + 2)
    lines = [*head, *group("map", "Heat index", body)]
    lines += group("numbers", "Places to look at", numbers) if numbers else []
    return page_svg("Predicted heat", [*lines, *ruler, *key, *foot, *table], y + MARGIN / 2)


def _unit(heat: HeatIndex) -> str:
    if heat.calibrated:
        return "Heat index: 1 is the patch that was graded even"
    return f"Heat index in medians of this job ({heat.trust})"
