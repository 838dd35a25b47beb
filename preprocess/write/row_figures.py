"""Figures of the rows of each output layer, for the report."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from preprocess.marking.job.plan import RasterGroup, plan_of
from preprocess.marking.job.rows import row_spans
from preprocess.marking.job.timed_step import timed_step
from preprocess.marking.machine.motion import motion_of

if TYPE_CHECKING:
    from preprocess.arrays import Floats
    from preprocess.marking.machine.motion import Motion
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.bench.machine import Machine


def row_figures(artwork: Artwork, machine: Machine) -> dict[str, dict[str, Any]]:
    """By output id: groups, lit rows; smallest, median and largest span, lit length, return time.

    Lengths in mm, times in s. Return times are None where nobody gave a speed or no two rows are
    neighbours. Layers without a pitch have no rows and are absent.
    """
    motion, _ = motion_of(machine)
    found: dict[str, list[RasterGroup]] = {}
    for step in plan_of(artwork, machine).steps:
        if isinstance(step, RasterGroup):
            found.setdefault(step.output.id, []).append(step)
    return {key: _figures(groups, motion) for key, groups in found.items()}


def _figures(groups: list[RasterGroup], motion: Motion) -> dict[str, Any]:
    spans = [row_spans(group) for group in groups]
    returns = np.concatenate([_returns(group, motion) for group in groups])
    return {
        "groups": len(groups),
        "lit": sum(len(rows) for rows in spans),
        "span_mm": _spread(np.concatenate([rows.span for rows in spans])),
        "lit_mm": _spread(np.concatenate([rows.lit for rows in spans])),
        "return_s": _spread(returns[np.isfinite(returns)]),
    }


def _returns(group: RasterGroup, motion: Motion) -> Floats:
    once = None if group.settings.speed is None else timed_step(group, motion)
    return np.empty(0) if once is None else once.returns


def _spread(values: Floats) -> dict[str, float] | None:
    if not len(values):
        return None
    return {
        "min": float(values.min()),
        "median": float(np.median(values)),
        "max": float(values.max()),
    }
