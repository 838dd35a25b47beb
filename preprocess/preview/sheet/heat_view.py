"""Heat before and after, side by side on one scale, with the places that findings name."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from preprocess.findings import on_page
from preprocess.marking.evenness.sentence import signed_percent
from preprocess.preview.drawing.as_drawn import placing_of
from preprocess.preview.drawing.canvas import TEXT_SIZE, svg_text
from preprocess.preview.drawing.html import inline_svg
from preprocess.preview.drawing.page_layout import fit_viewport
from preprocess.preview.heat_map.heat_picture import drawn_within, heat_bounds, heat_picture
from preprocess.preview.heat_map.places import DISC, choose_findings
from preprocess.preview.heat_map.scale import colours_and_ticks, heat_scale, limit_line
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.findings import Finding
    from preprocess.geometry.base.bounds import Bounds
    from preprocess.marking.heat.index import HeatIndex
    from preprocess.marking.prediction import Prediction
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.preview.heat_map.scale import HeatScale, ScaleLimit
    from preprocess.preview.sheet.sheet_job import SheetJob

_MAP = 92.0, 48.0
_LIMIT = 700_000
"""Characters of one map; a longer one is drawn coarser."""

_BAR, _EDGE = 5.0, 3.0
_PLACES, _SHARES = 3, 2
"""Figures of the table: those of evenness, and the last, which count only if graded."""


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
    was, now = _bounds(job.before, job.after)
    title = f"{job.title}: predicted heat"
    views = (
        _map(job.before, before, scale, ((), f"{title} before", was)),
        _map(job.after, after, scale, (named, f"{title} after", now)),
    )
    return HeatView(
        before=inline_svg(views[0], "heat-before"),
        after=inline_svg(views[1], "heat-after"),
        bar=inline_svg(_bar(scale), "heat-scale"),
        unit=_unit(after.heat),
        limits=[_limit(limit) for limit in scale.limits],
        figures=_figures(before, after),
        trust=after.heat.trust,
        numbers={f: n for n, f in enumerate(on_page(named, page.left, page.top), 1)},
    )


def _map(
    artwork: Artwork,
    prediction: Prediction,
    scale: HeatScale,
    said: tuple[Sequence[Finding], str, Bounds],
) -> str:
    named, title, bounds = said
    view, size = fit_viewport(bounds, *_MAP, DISC)

    def drawn(detail: float) -> str:
        how = (view, detail, scale)
        plan, heat = prediction.plan, prediction.heat
        lines, numbers, _ = heat_picture(artwork, plan, heat, how, named, size)
        return svg_text(title, [*lines, *numbers], size[2:])

    return drawn_within(_LIMIT, drawn)


def _bounds(before: Artwork, after: Artwork) -> tuple[Bounds, Bounds]:
    """Boxes that the two maps show: the same place, unless the drawing was placed elsewhere."""
    was, now = heat_bounds(before), heat_bounds(after)
    if placing_of(after) is not None:
        return was, now
    both = (min(was[0], now[0]), min(was[1], now[1]), max(was[2], now[2]), max(was[3], now[3]))
    return both, both


def _bar(scale: HeatScale) -> str:
    """The colours from cool to hot, with numbers below and the limits across."""
    lines = colours_and_ticks(scale, (_EDGE, 1.0, _MAP[0] - 2 * _EDGE, _BAR))
    size = (_MAP[0], _BAR + TEXT_SIZE + 3.4)
    return svg_text("Scale of the heat index, from cool to hot", lines, size)


def _limit(limit: ScaleLimit) -> tuple[str, str]:
    sample = svg_text("", limit_line("M0.5 2 H8.5", limit), (9.0, 4.0))
    return inline_svg(sample, f"limit-{limit.name}"), f"{limit.words} {digits(limit.at)}"


def _unit(heat: HeatIndex) -> str:
    one = "1 is the patch that was graded even" if heat.calibrated else "in medians of this job"
    return f"{one}; darker is hotter, and the mark heavier"


def _figures(before: Prediction, after: Prediction) -> list[tuple[str, str, str]]:
    """The index in figures. Shares of the window count only where the filament was graded."""
    rows = list(zip(_NAMES, _column(before), _column(after), strict=True))
    return rows if after.heat.calibrated else rows[:-_SHARES]


_NAMES = ("Median", "Worst place", "Coldest", "Off by 10 %", "Too weak", "Too heavy")


def _column(prediction: Prediction) -> tuple[str, ...]:
    heat, even = prediction.heat, prediction.objective
    median = f"{heat.median:.2f}"
    shares = (f"{100 * share:.1f} %" for share in (heat.too_weak, heat.too_heavy))
    if even is None:
        return (median, *["-"] * _PLACES, *shares)
    likely = even.likely
    places = (signed_percent(likely.hot), signed_percent(likely.cold))
    return (median, *places, f"{100 * likely.beyond:.1f} %", *shares)
