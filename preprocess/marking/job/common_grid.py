"""Levels of one layer on one grid of rows: where each begins, and by how much some miss it."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from preprocess.model.bench.machine import FirstRow

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.marking.job.plan import RasterGroup

_ON_GRID = 0.005
"""Share of a pitch by which a group's first row may miss the common grid of its layer."""


def on_common_grid(groups: Sequence[RasterGroup], rule: FirstRow) -> tuple[RasterGroup, ...]:
    """Start all levels of a layer on one grid of rows, where rows begin on the edge.

    A level whose own edge lies between two rows of the grid begins on the row before it, up to
    which its bars must then reach.
    """
    if rule is not FirstRow.EDGE:
        return tuple(groups)
    origins: dict[tuple[str, float, float], float] = {}
    for group in groups:
        key = (group.output.layer, group.angle, group.pitch)
        origins[key] = min(group.first, origins.get(key, math.inf))
    return tuple(
        _begun(group, origins[group.output.layer, group.angle, group.pitch]) for group in groups
    )


def _begun(group: RasterGroup, origin: float) -> RasterGroup:
    steps = (group.first - origin) / group.pitch
    if group.output.level is None or abs(steps - round(steps)) <= _ON_GRID:
        return group
    first = origin + group.pitch * math.floor(steps)
    last = group.first + group.pitch * group.count
    return replace(group, first=first, count=math.ceil((last - first) / group.pitch))


def seam_error(groups: Sequence[RasterGroup]) -> tuple[float, str]:
    """By how much (mm) the rows of one layer's levels miss a common grid at worst; which layer."""
    worst, where = 0.0, ""
    begun: dict[tuple[str, float, float], float] = {}
    for group in groups:
        key = (group.output.layer, group.angle, group.pitch)
        steps = (group.first - begun.setdefault(key, group.first)) / group.pitch
        miss = abs(steps - round(steps)) * group.pitch
        if group.output.level is not None and miss > max(worst, _ON_GRID * group.pitch):
            worst, where = miss, group.output.layer
    return worst, where
