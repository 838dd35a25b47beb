"""Own rows of a cell: its area as lines to score, every k-th row first."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from preprocess.coupon.artwork.shapes import translated
from preprocess.geometry.rows.hatching import Hatching, hatch_areas
from preprocess.model.artwork.settings import Direction

if TYPE_CHECKING:
    from shapely import MultiLineString, MultiPolygon

    from preprocess.coupon.design.model import OwnRows


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
