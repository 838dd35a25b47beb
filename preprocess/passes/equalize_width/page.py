"""Growth of the page to hold bars: alike on opposite sides, so that its centre stays."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import shapely

from preprocess.model.bench.machine import FirstRow
from preprocess.passes.equalize_width.lay_out import all_bars

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.marking.job.plan import RasterGroup
    from preprocess.model.artwork.artwork import Page
    from preprocess.model.bench.machine import Machine
    from preprocess.passes.equalize_width.lay_out import GroupBars

_HAIR = 1e-6
"""Shortfalls below this, mm, do not count."""

_STEP = 0.1
"""The page grows by whole steps of this many mm."""


def growth_unit(groups: Sequence[RasterGroup], machine: Machine) -> float:
    """Step of growth, mm: a whole pitch where rows are counted from the page's corner."""
    pitches = {group.pitch for group in groups}
    return min(pitches) if machine.first_row is FirstRow.PAGE and len(pitches) == 1 else _STEP


def grown_page(page: Page, barred: Sequence[GroupBars], unit: float) -> Page:
    """The page, larger by the same amount on opposite sides where bars leave it."""
    bars = all_bars(barred)
    if not len(bars):
        return page
    left, top, right, bottom = shapely.total_bounds(bars)
    wide = _steps(max(page.left - left, right - page.left - page.width), unit)
    high = _steps(max(page.top - top, bottom - page.top - page.height), unit)
    if not (wide or high):
        return page
    return page.grown(wide, high)


def _steps(missing: float, unit: float) -> float:
    """The missing length in whole steps; none below the rounding."""
    return 0.0 if missing <= _HAIR else unit * math.ceil(missing / unit - 1e-6)
