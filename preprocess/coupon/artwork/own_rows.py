"""Rounds of a cell, every k-th row first: its area as lines to score, or as strips to sweep."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from preprocess.coupon.artwork.shapes import translated
from preprocess.geometry.base.normalise import NOTHING
from preprocess.geometry.rows.hatching import Hatching, hatch_areas
from preprocess.model.artwork.settings import Direction
from preprocess.passes.interleave.strip_grid import strip_grid
from preprocess.passes.interleave.strips import strip_sets

if TYPE_CHECKING:
    from shapely import MultiLineString, MultiPolygon

    from preprocess.coupon.design.model import OwnRows
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.bench.machine import FirstRow


def own_row_lines(area: MultiPolygon, rows: OwnRows) -> MultiLineString:
    """The rows of an area from its upper edge on, in marking order, on the grid of all artwork."""
    _, top, _, bottom = area.bounds
    hatching = Hatching(
        angle=0.0,
        first=top + rows.pitch / 2,
        pitch=rows.pitch,
        count=max(1, math.floor((bottom - top) / rows.pitch + 1e-6)),
        every=rows.rounds,
        two_way=rows.direction is Direction.TWO_WAY,
    )
    (lines,) = hatch_areas([area], hatching)
    return translated(lines, 0.0, 0.0)


def strip_areas(
    area: MultiPolygon, rows: OwnRows, rule: FirstRow, artwork: Artwork
) -> tuple[MultiPolygon, ...]:
    """The strips of each round of an area, in marking order, as interleave cuts them.

    `rule` is where the machine's software begins its rows, `artwork` says the page and decimals.
    """
    decimals = artwork.drawing.decimals
    grid = strip_grid(area, (0.0, rows.pitch), rule, artwork.page, decimals)
    found = strip_sets(area, NOTHING, grid, rows.rounds, 1).areas
    return tuple(one for one in found if not one.is_empty)
