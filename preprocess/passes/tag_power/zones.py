"""Zones cut from the areas of raster groups: in bands of rows or by local width."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import MultiLineString

from preprocess.geometry.base.normalise import as_area
from preprocess.geometry.base.row_frame import RowFrame
from preprocess.geometry.offset.width_zones import width_range, zones_by_local_width
from preprocess.geometry.overlay.partition import partition_area
from preprocess.passes.tag_power.level_bands import common_limits, level_bands, level_limits

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import MultiPolygon

    from preprocess.arrays import Floats, Indices
    from preprocess.marking.job.plan import RasterGroup
    from preprocess.marking.job.rows import RowValues
    from preprocess.model.bench.machine import FirstRow
    from preprocess.passes.tag_power.level_bands import LevelBands


Zones = list[tuple[int, "MultiPolygon"]]
"""Level and area of each zone of one shape, in marking order; together they are the shape."""


def zones_by_rows(
    groups: Sequence[RasterGroup],
    measured: Sequence[RowValues],
    levels: int,
    min_rows: int,
    rule: FirstRow,
) -> tuple[Floats, list[list[Zones]]]:
    """Limits between the levels (descending), and the zones of each shape of each group.

    A zone is a band of consecutive rows of one level, however many pieces it has. `measured` is
    what the level of a row follows, for each group.
    """
    between = common_limits(measured, levels)
    cut = []
    for group, rows in zip(groups, measured, strict=True):
        found = level_bands(group, rows, between, min_rows, rule)
        cut.append([_banded(shape.geometry, found, group.angle) for shape in group.shapes])
    return between, cut


def zones_by_width(
    groups: Sequence[RasterGroup], levels: int, min_rows: int
) -> tuple[Floats, list[list[Zones]]]:
    """Limits between the levels (mm, descending), and the zones of each shape of each group.

    A zone is one connected area of one level.
    """
    if not groups:
        return np.empty(0), []
    every = as_area([shape.geometry for group in groups for shape in group.shapes])
    least = min_rows * min(group.pitch for group in groups)
    widths = level_limits(*width_range(every, least), levels)
    cut = []
    for group in groups:
        height = min_rows * group.pitch
        cut.append([_widths(shape.geometry, widths, height, group.angle) for shape in group.shapes])
    return widths, cut


def compounded(zones: Zones) -> Zones:
    """One area for each level, the widest first."""
    levels = sorted({level for level, _ in zones})
    return [(n, as_area([area for level, area in zones if level == n])) for n in levels]


def _banded(area: MultiPolygon, found: LevelBands, angle: float) -> Zones:
    if not len(found.borders):
        return [(int(found.levels[0]), area)]

    def band(points: Floats) -> Indices:
        return np.searchsorted(found.borders, RowFrame(angle).to_uv(*points.T)[1])

    pieces = partition_area(area, _lines_across(area, found.borders, angle), band)
    return [(int(found.levels[index]), piece) for index, piece in pieces.items()]


def _lines_across(area: MultiPolygon, borders: Floats, angle: float) -> MultiLineString:
    """Lines of constant v right across an area, on the page."""
    left, top, right, bottom = RowFrame(angle).to_rows(area).bounds
    lines = [[(left - 1.0, v), (right + 1.0, v)] for v in borders.tolist() if top < v < bottom]
    return RowFrame(angle).to_page(MultiLineString(lines))


def _widths(area: MultiPolygon, widths: Floats, height: float, angle: float) -> Zones:
    if not len(widths):
        return [(1, area)]
    tiles = zones_by_local_width(area, widths, least_height=height, angle=angle)
    return [(level, zone) for level, tile in tiles.items() for zone in _apart(tile)]


def _apart(area: MultiPolygon) -> list[MultiPolygon]:
    """Each part as an area of its own."""
    parts = shapely.get_parts(area)
    return list(shapely.multipolygons(parts, indices=np.arange(len(parts))))
