"""Figures of the rows of each output layer, for the report."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from preprocess.marking.job.dense_rows import dense_rounds
from preprocess.marking.job.plan import RasterGroup, plan_of
from preprocess.marking.job.rows import row_spans
from preprocess.marking.job.timed_step import timed_step
from preprocess.marking.machine.motion import motion_of

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from preprocess.arrays import Floats
    from preprocess.marking.job.plan import Plan
    from preprocess.marking.job.rows import RowSpans
    from preprocess.marking.job.traced_rows import Round
    from preprocess.marking.machine.motion import Motion
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.output import OutputLayer
    from preprocess.model.bench.machine import Machine


def row_figures(artwork: Artwork, machine: Machine) -> dict[str, dict[str, Any]]:
    """By output id: groups, lit rows; smallest, median and largest span, lit length, return time.

    Own rows, traced as lines, count round by round. Lengths in mm, times in s. Return times are
    None without a speed, or where no two rows are neighbours. Layers without a pitch have no rows
    and are absent.
    """
    motion, _ = motion_of(machine)
    plan = plan_of(artwork, machine)
    own_rows = _own_rows(plan, motion)
    found: dict[str, list[tuple[RowSpans, Floats]]] = {}
    for index, step in enumerate(plan.steps):
        if isinstance(step, RasterGroup):
            found.setdefault(step.output.id, []).append(timed_rows(step, motion))
        for one in own_rows.get(index, ()):
            found.setdefault(step.output.id, []).append((one.spans, one.returns))
    return {key: _figures(some) for key, some in found.items()}


def _own_rows(plan: Plan, motion: Motion) -> dict[int, tuple[Round, ...]]:
    """Rounds by step; parallel lines that lie apart, or are few, are no rows."""
    lines = {
        index: timed_step(step, motion)
        for index, step in enumerate(plan.steps)
        if not isinstance(step, RasterGroup) and step.settings.speed is not None
    }
    rounds = {index: timed.rounds for index, timed in lines.items() if timed and timed.rounds}
    return dense_rounds(rounds, {index: plan.steps[index].output.layer for index in rounds})


def raster_groups(
    artwork: Artwork, machine: Machine, key: Callable[[OutputLayer], str]
) -> dict[str, list[RasterGroup]]:
    """The planned raster groups by a key of their output layer, in marking order."""
    found: dict[str, list[RasterGroup]] = {}
    for step in plan_of(artwork, machine).steps:
        if isinstance(step, RasterGroup):
            found.setdefault(key(step.output), []).append(step)
    return found


def timed_rows(group: RasterGroup, motion: Motion) -> tuple[RowSpans, Floats]:
    """Lit rows of a group and their return times in s; nan without a speed or a neighbour."""
    once = None if group.settings.speed is None else timed_step(group, motion)
    if once is not None:
        return once.spans, once.returns
    spans = row_spans(group)
    return spans, np.full(len(spans), np.nan)


def _figures(groups: Sequence[tuple[RowSpans, Floats]]) -> dict[str, Any]:
    spans, times = zip(*groups, strict=True)
    returns = np.concatenate(times)
    return {
        "groups": len(groups),
        "lit": sum(len(rows) for rows in spans),
        "span_mm": _spread(np.concatenate([rows.span for rows in spans])),
        "lit_mm": _spread(np.concatenate([rows.lit for rows in spans])),
        "return_s": _spread(returns[np.isfinite(returns)]),
    }


def _spread(values: Floats) -> dict[str, float] | None:
    if not len(values):
        return None
    return {
        "min": float(values.min()),
        "median": float(np.median(values)),
        "max": float(values.max()),
    }
