"""What of some areas stands in the rows of others."""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely

from preprocess.geometry.base.row_frame import RowFrame
from preprocess.geometry.overlay.booleans import NOTHING, intersection, union

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import MultiPolygon


def clip_to_rows(bars: MultiPolygon, areas: Sequence[MultiPolygon], angle: float) -> MultiPolygon:
    """The stretches of bars beside the rows of areas, for a scan angle in degrees; mm."""
    if bars.is_empty:
        return NOTHING
    frame = RowFrame(angle)
    turned = frame.to_rows(bars)
    left, _, right, _ = turned.bounds
    spans = [frame.to_rows(part).bounds for area in areas for part in area.geoms]
    strips = union([shapely.box(left - 1, top, right + 1, low) for _, top, _, low in spans])
    return frame.to_page(intersection(turned, strips))
