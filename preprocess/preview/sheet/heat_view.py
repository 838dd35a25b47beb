"""Heat before and after, side by side on one scale, with the places that findings name."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import shapely
from shapely import MultiPolygon

from preprocess.findings import on_page
from preprocess.preview.drawing.as_drawn import as_placed
from preprocess.preview.drawing.canvas import (
    INK,
    TEXT_SIZE,
    Paint,
    group,
    mm,
    path,
    rectangle,
    text,
    text_width,
)
from preprocess.preview.heat_map.heat_legend import surroundings
from preprocess.preview.heat_map.heat_picture import draw_patches
from preprocess.preview.heat_map.places import DISC, choose_findings, draw_numbers, place_numbers
from preprocess.preview.heat_map.scale import heat_scale, limit_line
from preprocess.preview.sheet.sheet_job import fit_viewport, inline_svg, joint_box, svg_text
from preprocess.write.svg.xml_text import escape_text

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import Geometry

    from preprocess.findings import Finding
    from preprocess.marking.heat.index import HeatIndex
    from preprocess.marking.prediction import Prediction
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.preview.drawing.canvas import Viewport
    from preprocess.preview.heat_map.scale import HeatScale, ScaleLimit
    from preprocess.preview.sheet.sheet_job import Box, SheetJob

MAP = 92.0, 48.0
_LIMIT = 700_000
"""Characters of one map; what would be longer is drawn coarser."""

_DETAILS = (1.0, 2.0, 4.0, 8.0, 16.0, 32.0)
_MARGIN = DISC
_BAR, _EDGE = 5.0, 3.0
_TICK, _TICKS = 0.2, 8
_MEANING = {
    "weak": "too weak below {:g}",
    "heavy": "too heavy above {:g}",
    "molten": "molten above {:g}",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class HeatView:
    """Two maps and their scale.

    `limits` are pairs of a sample line and words. `figures` are rows of a table: words, before,
    after. `numbers` are those of the findings on the later map.
    """

    before: str
    after: str
    bar: str
    unit: str
    limits: list[tuple[str, str]]
    figures: list[tuple[str, str, str]]
    trust: str
    numbers: dict[Finding, int]


def heat_view(job: SheetJob) -> HeatView | None:
    """The maps of a job; None where no heat was computed of the output."""
    if job.predicted is None or not job.predicted[1].heat.images:
        return None
    before, after = job.predicted
    scale, page = heat_scale(after.heat), job.after.page
    named, _ = choose_findings(after.findings, after.heat, scale)
    boxes = _extents(job.before, job.after)
    views = [
        _map(
            artwork,
            prediction,
            scale,
            (found, f"{escape_text(job.title)}: predicted heat {when}", box),
        )
        for artwork, prediction, found, when, box in (
            (job.before, before, (), "before", boxes[0]),
            (job.after, after, named, "after", boxes[1]),
        )
    ]
    return HeatView(
        before=inline_svg(views[0], "heat-before"),
        after=inline_svg(views[1], "heat-after"),
        bar=inline_svg(_bar(scale), "heat-scale"),
        unit=_unit(after.heat),
        limits=[_limit(limit) for limit in scale.limits],
        figures=_figures(before.heat, after.heat),
        trust=after.heat.trust,
        numbers={f: n for n, f in enumerate(on_page(named, page.left, page.top), 1)},
    )


def _map(
    artwork: Artwork,
    prediction: Prediction,
    scale: HeatScale,
    said: tuple[Sequence[Finding], str, Box],
) -> str:
    drawn = ""
    for detail in _DETAILS:
        drawn = _drawn(artwork, prediction, scale, said, detail)
        if len(drawn) <= _LIMIT:
            break
    return drawn


def _drawn(
    artwork: Artwork,
    prediction: Prediction,
    scale: HeatScale,
    said: tuple[Sequence[Finding], str, Box],
    detail: float,
) -> str:
    named, title, extent = said
    lit = [shape.geometry for shape in artwork.shapes if shape.is_engraved_area]
    view, size = fit_viewport(extent, *MAP, _MARGIN)
    lines = []
    for number, entry in enumerate(surroundings(artwork)):
        shown = path(view.data(entry.geometry), entry.paint)
        lines += group(f"beside-{number}", entry.words, shown)
    lines += draw_patches(prediction.plan, prediction.heat, artwork, (view, detail, scale))
    lines += draw_numbers(place_numbers(named, _spots(named, view), size, _coarse(lit, view)))
    return svg_text(title, lines, size[2:])


def _extents(before: Artwork, after: Artwork) -> tuple[Box, Box]:
    """What the two maps show: the same place, unless the drawing was placed elsewhere."""
    was, now = _shown(before), _shown(after)
    if as_placed(before, after)[1] is not None:
        return was, now
    both = joint_box([shapely.box(*was), shapely.box(*now)]) or now
    return both, both


def _shown(artwork: Artwork) -> Box:
    """Box of parts, bars, engraved areas and lines; the page where there are none."""
    lit = [shape.geometry for shape in artwork.shapes if shape.is_engraved_area]
    page = artwork.page
    found = joint_box([*lit, *(entry.geometry for entry in surroundings(artwork))])
    return found or (page.left, page.top, page.left + page.width, page.top + page.height)


def _spots(named: Sequence[Finding], view: Viewport) -> list[tuple[float, float]]:
    points = (view.on_sheet(shapely.Point(f.spot)) for f in named if f.spot is not None)
    return [(point.x, point.y) for point in points]


def _coarse(areas: Sequence[Geometry], view: Viewport) -> MultiPolygon:
    """What is engraved, on the picture, coarsely: numbers stand beside it."""
    coarse = shapely.simplify(list(areas), 1.0 / view.scale)
    return view.on_sheet(MultiPolygon(list(shapely.get_parts(coarse))))


def _bar(scale: HeatScale) -> str:
    """The colours from cool to hot, with numbers below and the limits across."""
    wide = (MAP[0] - 2 * _EDGE) / len(scale.colours)
    lines = [
        line
        for n, colour in enumerate(scale.colours)
        for line in path(rectangle(_EDGE + n * wide, 1.0, wide + 0.05, _BAR), Paint(fill=colour))
    ]
    every = _TICK * max(1, round((scale.high - scale.low) / _TICK / _TICKS))
    for n in range(math.ceil(scale.low / every - 1e-9), math.floor(scale.high / every + 1e-9) + 1):
        x = _along(scale, n * every)
        lines += path(f"M{mm(x)} {mm(1 + _BAR)} v0.8", Paint(stroke=INK, width=0.25))
        words = f"{n * every:g}"
        lines.append(text(x - text_width(words) / 2, 2.2 + _BAR + TEXT_SIZE, words))
    for limit in scale.limits:
        x = _along(scale, limit.at)
        lines += limit_line(f"M{mm(x)} 0.4 V{mm(_BAR + 1.6)}", limit)
    return svg_text(
        "Scale of the heat index, from cool to hot", lines, (MAP[0], _BAR + TEXT_SIZE + 3.4)
    )


def _along(scale: HeatScale, at: float) -> float:
    share = (at - scale.low) / (scale.high - scale.low)
    return _EDGE + (MAP[0] - 2 * _EDGE) * min(max(share, 0.0), 1.0)


def _limit(limit: ScaleLimit) -> tuple[str, str]:
    sample = svg_text("", limit_line("M0.5 2 H8.5", limit), (9.0, 4.0))
    return inline_svg(sample, f"limit-{limit.name}"), _MEANING[limit.name].format(limit.at)


def _unit(heat: HeatIndex) -> str:
    if heat.calibrated:
        return "1 is the patch that was graded even; darker is hotter, and the mark heavier"
    return "in medians of this job; darker is hotter, and the mark heavier"


def _figures(before: HeatIndex, after: HeatIndex) -> list[tuple[str, str, str]]:
    """The index in figures. Shares of the window count only where the filament was graded."""
    rows = [
        ("Median", f"{before.median:.2f}", f"{after.median:.2f}"),
        ("95 % below", f"{before.p95:.2f}", f"{after.p95:.2f}"),
        ("Largest", f"{before.largest:.2f}", f"{after.largest:.2f}"),
        ("Varies by", _share(before.cv, 0), _share(after.cv, 0)),
    ]
    if after.calibrated:
        rows.append(("Too weak", _share(before.too_weak, 1), _share(after.too_weak, 1)))
        rows.append(("Too heavy", _share(before.too_heavy, 1), _share(after.too_heavy, 1)))
    return rows


def _share(share: float, decimals: int) -> str:
    return f"{100 * share:.{decimals}f} %"
