"""Figures of the rows of each output layer, for the report."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from preprocess.marking.plan import RasterGroup, plan
from preprocess.marking.rows import row_spans

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from preprocess.marking.rows import Spans
    from preprocess.model.artwork import Artwork
    from preprocess.model.machine import Machine


def row_figures(artwork: Artwork, machine: Machine | None) -> dict[str, dict[str, Any]]:
    """By output id: groups, lit rows, and smallest, median and largest span and lit length (mm).

    Layers without a pitch have no rows and are absent.
    """
    spans: dict[str, list[Spans]] = {}
    for step in plan(artwork, machine).steps:
        if isinstance(step, RasterGroup):
            spans.setdefault(step.output.id, []).append(row_spans(step))
    return {key: _figures(groups) for key, groups in spans.items()}


def _figures(groups: list[Spans]) -> dict[str, Any]:
    return {
        "groups": len(groups),
        "lit": sum(len(group) for group in groups),
        "span_mm": _spread(np.concatenate([group.span for group in groups])),
        "lit_mm": _spread(np.concatenate([group.lit for group in groups])),
    }


def _spread(values: NDArray[np.float64]) -> dict[str, float] | None:
    if not len(values):
        return None
    return {
        "min": float(values.min()),
        "median": float(np.median(values)),
        "max": float(values.max()),
    }
