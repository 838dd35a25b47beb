"""Findings about bars: backing card, beam lean, place and page, and rows."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import shapely

from preprocess.findings import Finding, note, warn
from preprocess.marking.job.common_grid import seam_error
from preprocess.passes.equalize_width.lay_out import all_bars
from preprocess.passes.equalize_width.row_gain import row_gain_findings
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from preprocess.model.artwork.artwork import Artwork, Page
    from preprocess.model.bench.machine import Machine
    from preprocess.passes.equalize_width.apply import BarLayout
    from preprocess.passes.equalize_width.lay_out import GroupBars
    from preprocess.passes.equalize_width.room import PartExtent

_SEEN = 0.005
"""mm; less is shown as nothing."""

_CARD = (
    "a matt sacrificial card must lie there, beyond the bars on all sides; no bare reflective metal"
)


def bar_findings(
    before: Page,
    after: Artwork,
    laid: BarLayout,
    machine: Machine,
) -> tuple[Finding, ...]:
    """All findings about the bars of an artwork; `before` is its page without bars."""
    barred, sides = laid.barred, laid.sides
    beyond = {angle: side.beyond(_widest(barred, angle)) for angle, side in sides.items()}
    return (
        _backing(barred, max(beyond.values())),
        *_slants(sides, beyond),
        *_lanes(barred),
        *_page(before, after.page),
        *_rows(barred),
        *row_gain_findings(barred, machine),
    )


def _widest(barred: Sequence[GroupBars], angle: float) -> float:
    return max(entry.span for entry in barred if entry.group.angle == angle)


def _backing(barred: Sequence[GroupBars], reach: float) -> Finding:
    bars = all_bars(barred)
    area = float(shapely.area(bars).sum())
    message = f"{len(bars)} bars will mark {area:.2f} mm² of whatever lies beside the part"
    left, top, right, bottom = shapely.total_bounds(bars)
    size = f"{right - left + 2 * reach:.1f} × {bottom - top + 2 * reach:.1f} mm"
    finding = note("backing-needed", f"{message}, within {size}", _CARD)
    return replace(finding, spot=(float(left), float(top)))


def _slants(sides: Mapping[float, PartExtent], beyond: Mapping[float, float]) -> Iterator[Finding]:
    for angle, side in sides.items():
        if beyond[angle] > 0:
            grown = f"the clearance grew by {side.grown:.2f} mm; " if side.grown >= _SEEN else ""
            message = (
                f"the beam leans along rows at {digits(angle)}°: {grown}"
                f"light lands up to {beyond[angle]:.2f} mm outside its bar"
            )
            remedy = f"extend the card {beyond[angle]:.2f} mm beyond the bars"
            yield note("beam-leans", message, remedy)


def _lanes(barred: Sequence[GroupBars]) -> Iterator[Finding]:
    if any(entry.lane for entry in barred):
        spans = ", ".join(f"{entry.group.output.id} {entry.span:.2f} mm" for entry in barred)
        message = f"layers share rows: their bars stand side by side; spans: {spans}"
        yield note("bars-side-by-side", message)


def _page(before: Page, after: Page) -> Iterator[Finding]:
    wide, high = before.left - after.left, before.top - after.top
    if wide or high:
        message = (
            f"the page grew by {digits(wide)} mm on the left and right and {digits(high)} mm at "
            "top and bottom to hold the bars; its centre stays"
        )
        yield note("page-grown", message)


def _rows(barred: Sequence[GroupBars]) -> Iterator[Finding]:
    for entry in barred:
        if entry.bars.is_empty:
            message = f"{entry.group.output.id} gets no bars: none of its lit rows needs one"
            yield note("no-bars", message)
    seam, layer = seam_error([entry.group for entry in barred])
    if seam > 0:
        message = (
            f"rows of the levels of {layer} miss a common grid by up to {seam:.3f} mm, so the "
            "pitch at seams differs by that much"
        )
        remedy = "begin the rows on the page's grid"
        yield warn("rows-off-grid", message, remedy)
