"""Findings about areas that became rounds of rows."""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely
from shapely import MultiPolygon

from preprocess.findings import Finding, counted, note, warn
from preprocess.geometry.rows.rounds import APART, round_order, usual_rounds
from preprocess.model.artwork.settings import Operation
from preprocess.model.bench.machine import FirstRow
from preprocess.passes._shared.rowless import rowless_findings
from preprocess.passes._shared.score_settings import score_settings
from preprocess.passes.interleave.other_rules import rows_at_risk
from preprocess.passes.interleave.strip_grid import room_for_points, strip_grid
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.shape import Shape
    from preprocess.passes.interleave.cut_rounds import RowPlan

_NEAR = 0.75
"""Share of the wanted distance between rows of one round below which it is told."""


_LOST = 1e-4
"""Share of the rows below which nothing is lost."""


def round_findings(
    artwork: Artwork,
    old: Sequence[Shape],
    new: Sequence[Shape],
    plan: RowPlan,
    *,
    whole: bool,
) -> Iterator[Finding]:
    """Findings on the areas of one layer that became rounds.

    Args:
        artwork: the artwork before.
        old: areas of one layer.
        new: the rounds, in marking order.
        plan: how their rows lie, and how many colours they get.
        whole: the software sweeps each colour as a whole.
    """
    layer = old[0].layer
    area = sum(shape.geometry.area for shape in old)
    message = (
        f"{area:.2f} mm² of {layer} will be marked in {counted(len(new), 'round')} on "
        f"{counted(plan.colours, 'colour')}: {_in_order(plan.rounds)}"
    )
    yield note("areas-interleaved", message, layer=layer)
    if any(shape.operation is Operation.SCORE for shape in new):
        yield from score_settings(artwork, layer, "rows")
        yield from rowless_findings(layer, old, new, "interleave a smaller inset or form: strips")
    elif new:
        yield from _first_row(artwork, old, new, plan, whole=whole)
    yield from _too_near(layer, plan, whole=whole)
    if _too_coarse(artwork, plan, new):
        decimals = artwork.drawing.decimals
        message = (
            f"{layer} cannot be cut into {plan.rounds} rounds: {counted(decimals, 'decimal')} of a "
            f"millimetre are too few for rows {digits(plan.pitch)} mm apart"
        )
        remedy = "give drawing decimals: 4, or interleave form: own-rows"
        yield warn("too-few-decimals", message, remedy, layer=layer)
    elif len(new) < plan.rounds:
        message = f"{layer} has rows for {counted(len(new), 'round')} only, not for {plan.rounds}"
        yield note("fewer-rounds", message, layer=layer)


def _in_order(rounds: int) -> str:
    """Which rows are marked when."""
    every = {2: "2nd", 3: "3rd"}.get(rounds, f"{rounds}th")
    first, *rows = [str(number + 1) for number in round_order(rounds)]
    others = f"rows {', '.join(rows[:-1])} and {rows[-1]}" if rows[1:] else f"row {rows[0]}"
    return f"row {first} and every {every} row after it first, then the same from {others}"


def _too_coarse(artwork: Artwork, plan: RowPlan, new: Sequence[Shape]) -> bool:
    """Test whether rounding would take away the points from which rows are counted."""
    strips = any(shape.is_engraved_area for shape in new)
    fits = room_for_points(plan.pitch, artwork.drawing.decimals)
    return strips and plan.rule is not FirstRow.PAGE and not fits


def _first_row(
    artwork: Artwork, old: Sequence[Shape], new: Sequence[Shape], plan: RowPlan, *, whole: bool
) -> Iterator[Finding]:
    """What would be lost if the software began its rows by another rule."""
    areas = [area for shape in old for area in (shape.geometry, shape.bars) if area is not None]
    every = MultiPolygon([*shapely.get_parts(areas)])
    rows = (plan.angle, plan.pitch)
    grid = strip_grid(every, rows, plan.rule, artwork.page, artwork.drawing.decimals)
    risks = rows_at_risk(new, grid, artwork.page, whole=whole)
    lost = [
        f"{digits(100 * share, 2)} % of the rows by first_row: {rule}"
        for rule, share in risks.items()
        if share > _LOST
    ]
    if lost:
        message = (
            f"strips of {new[0].layer} fit first_row: {plan.rule}; missing or marked twice would "
            f"be {' and '.join(lost)}"
        )
        remedy = "mark a first-row coupon, and give the machine the rule that it shows"
        yield note("strips-need-first-row", message, remedy, layer=new[0].layer)


def _too_near(layer: str, plan: RowPlan, *, whole: bool) -> Iterator[Finding]:
    """Rows of one round lie so near that they warm one another."""
    apart = plan.rounds * plan.pitch
    if apart >= _NEAR * APART:
        return
    message = (
        f"rows of one round of {layer} lie {digits(apart)} mm apart and still warm one another; "
        f"{digits(APART)} mm is enough"
    )
    remedy = f"give interleave {'colours' if whole else 'rounds'}: {usual_rounds(plan.pitch)}"
    if whole:
        remedy += ", or form: own-rows, which puts several rounds on one colour"
    yield warn("rounds-too-near", message, remedy, layer=layer)
