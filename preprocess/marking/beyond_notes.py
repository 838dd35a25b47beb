"""Where a job leaves what was graded: settings and row spans that no cell of a coupon had."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.findings import Finding, note
from preprocess.marking.plan import RasterGroup

if TYPE_CHECKING:
    from collections.abc import Iterator

    from preprocess.marking.plan import Plan
    from preprocess.marking.schedule import Schedule
    from preprocess.model.filament import Tried

NEAR = 1.25
"""Factor beyond what was graded up to which a setting is taken to be alike."""

NEAR_SPAN = 1.5
"""The same for row spans, on which heat depends much less."""

MANY = 0.05
"""Share of a layer's rows from which on their spans are told."""


def beyond_findings(tried: Tried, plan: Plan, schedule: Schedule) -> tuple[Finding, ...]:
    """Settings and spans of engraved layers that lie beyond those of the graded cells."""
    groups = [step for step in plan.steps if isinstance(step, RasterGroup)]
    by_output = {group.output.id: group.settings for group in groups}
    found: list[Finding] = []
    for output, settings in by_output.items():
        for what, unit, here, ends in (
            ("pitch", "mm", settings.pitch, tried.pitch),
            ("speed", "mm/s", settings.speed, tried.speed),
        ):
            if here is not None and ends and not ends[0] / NEAR <= here <= ends[1] * NEAR:
                found.append(_beyond(output, f"{what} of {here:g} {unit}", ends, unit))
        found += _spans(output, tried, plan, schedule)
    return tuple(found)


def _spans(output: str, tried: Tried, plan: Plan, schedule: Schedule) -> Iterator[Finding]:
    if tried.span is None:
        return
    mine = [v.passage.spans.span for v in schedule.visits if plan.steps[v.step].output.id == output]
    spans = np.concatenate(mine) if mine else np.empty(0)
    low, high = tried.span
    for outside, what, furthest in (
        (spans < low / NEAR_SPAN, "short", np.min),
        (spans > high * NEAR_SPAN, "long", np.max),
    ):
        if len(spans) and outside.mean() > MANY:
            share, to = 100 * outside.mean(), furthest(spans)
            words = f"{share:.0f} % {what} rows, down to {to:.3g} mm,"
            if what == "long":
                words = f"{share:.0f} % {what} rows, up to {to:.3g} mm,"
            yield _beyond(output, words, tried.span, "mm")


def _beyond(output: str, what: str, ends: tuple[float, float], unit: str) -> Finding:
    between = f"{ends[0]:g}" if ends[0] == ends[1] else f"{ends[0]:g} to {ends[1]:g}"
    return note(
        "beyond-graded",
        f"{output} has {what} where cells of {between} {unit} were graded: that is a guess",
        "mark and grade a coupon with such cells",
    )
