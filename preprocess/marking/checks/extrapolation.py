"""Extrapolation: settings, row spans and sizes of a job beyond those of the graded cells."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.findings import Finding, note
from preprocess.geometry.base.normalise import as_area
from preprocess.geometry.offset.feature_size import MANY, longest_side, share_narrower
from preprocess.marking.checks.whole_areas import whole_areas
from preprocess.marking.job.plan import RasterGroup
from preprocess.marking.job.schedule import settings_of_rows
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from shapely import MultiPolygon

    from preprocess.marking.job.plan import Plan
    from preprocess.marking.job.schedule import Schedule
    from preprocess.model.bench.filament import Tried

_NEAR = 1.25
"""Factor beyond what was graded up to which a setting is taken to be alike."""

_NEAR_SPAN = 1.5
"""The same for row spans and widths, on which heat depends much less."""

_SCALE = 2.0
"""Factor on the size of shapes beyond which they are of another scale."""


def extrapolation_findings(tried: Tried, plan: Plan, schedule: Schedule) -> tuple[Finding, ...]:
    """Settings and spans of layers of rows that lie beyond those of the graded cells."""
    groups = [step for step in plan.steps if isinstance(step, RasterGroup)]
    found: list[Finding] = []
    for output, settings in settings_of_rows(plan, schedule).items():
        for what, unit, here, ends in (
            ("pitch", "mm", settings.pitch, tried.pitch),
            ("speed", "mm/s", settings.speed, tried.speed),
        ):
            if here is not None and ends is not None and beyond_graded(here, ends):
                found.append(_beyond(output, f"{what} of {digits(here)} {unit}", ends, unit))
        found += _spans(output, tried, plan, schedule)
        found += _sizes(output, tried, _drawn(output, groups))
    return tuple(found)


def _drawn(output: str, groups: Sequence[RasterGroup]) -> list[MultiPolygon]:
    """Areas of an output layer; of rounds, for the first of them, those that all make up."""
    mine = [s for g in groups if g.output.id == output for s in g.shapes]
    first = mine[0] if mine else None
    if first is None or first.round is None:
        return [shape.geometry for shape in mine]
    same = [s for g in groups for s in g.shapes if s.round is not None and s.layer == first.layer]
    return [shape.geometry for shape in whole_areas(same)] if first.round == 0 else []


def beyond_graded(value: float | None, graded: tuple[float, float] | None) -> bool:
    """Test whether a setting is unlike the graded ones, as far as both are known."""
    if value is None or graded is None:
        return False
    return not graded[0] / _NEAR <= value <= graded[1] * _NEAR


def slowest_graded(graded: tuple[float, float]) -> float:
    """The least setting that is still like the graded ones."""
    return graded[0] / _NEAR


def fastest_graded(graded: tuple[float, float]) -> float:
    """The greatest setting that is still like the graded ones."""
    return graded[1] * _NEAR


def _spans(output: str, tried: Tried, plan: Plan, schedule: Schedule) -> Iterator[Finding]:
    if tried.span is None:
        return
    mine = [v.timed.spans.span for v in schedule.visits if plan.steps[v.step].output.id == output]
    spans = np.concatenate(mine) if mine else np.empty(0)
    low, high = tried.span
    for outside, what, way, furthest in (
        (spans < low / _NEAR_SPAN, "short", "down", np.min),
        (spans > high * _NEAR_SPAN, "long", "up", np.max),
    ):
        if len(spans) and outside.mean() > MANY:
            share, to = 100 * outside.mean(), furthest(spans)
            words = f"{share:.0f} % {what} rows, {way} to {digits(to, 3)} mm,"
            yield _beyond(output, words, tried.span, "mm")


def _sizes(output: str, tried: Tried, drawn: Sequence[MultiPolygon]) -> Iterator[Finding]:
    area = as_area(drawn)
    if area.is_empty:
        return
    if tried.feature is not None:
        limit = tried.feature[0] / _NEAR_SPAN
        share = share_narrower(area, limit)
        if share > MANY:
            yield note(
                "finer-than-graded",
                f"about {100 * share:.0f} % of {output} is narrower than {digits(limit, 2)} mm, "
                f"but the finest graded cells are {digits(tried.feature[0], 2)} mm wide: fine "
                "places are a guess",
                "mark and grade a tip-width or row-span coupon with --lengths "
                f"{digits(limit, 2)}mm",
            )
    if tried.size is not None:
        (least, most), here = tried.size, longest_side(area)
        if not least / _SCALE <= here <= most * _SCALE:
            yield note(
                "another-scale",
                f"{output} has shapes of up to {digits(here, 3)} mm, but graded shapes measure "
                f"{_between(tried.size)} mm: another size may need another power",
                f"mark and grade a sizes coupon with --lengths {digits(here, 3)}mm",
            )


def _beyond(output: str, what: str, ends: tuple[float, float], unit: str) -> Finding:
    return note(
        "beyond-graded",
        f"{output} has {what} but graded cells have {_between(ends)} {unit}: "
        "the prediction is a guess",
        "mark and grade a coupon with such cells",
    )


def _between(ends: tuple[float, float]) -> str:
    return digits(ends[0]) if ends[0] == ends[1] else f"{digits(ends[0])} to {digits(ends[1])}"
