"""Beginnings of sets: where each must begin so that its rows fall on the grid of the layer.

Software that begins its rows on the uppermost edge of a set would begin on the set's first strip,
a hair above a row. Such a set gets a narrow point instead, up to the row before: its rows are
counted from there, and a point lights none of them.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import LineString, Polygon

from preprocess.geometry.base.row_frame import RowFrame
from preprocess.passes.interleave.strip_grid import NARROWEST, WIDE

if TYPE_CHECKING:
    from collections.abc import Iterator

    from shapely import MultiPolygon

    from preprocess.arrays import Floats, Integers
    from preprocess.passes.interleave.strip_grid import StripGrid


@dataclass(frozen=True, slots=True)
class Point:
    """A point that a set begins with: a triangle on the page that goes to strip `strip`."""

    strip: int
    triangle: Polygon

    @property
    def cuts(self) -> tuple[LineString, LineString]:
        """Its two sides, drawn out a little beyond the foot."""
        apex, *feet = np.array(self.triangle.exterior.coords)[:3]
        one, other = (LineString([apex, apex + 1.1 * (foot - apex)]) for foot in feet)
        return one, other


def beginnings(
    area: MultiPolygon, grid: StripGrid, lit: Integers, sets: Integers
) -> tuple[Point, ...]:
    """A point for each set but that of the uppermost strip, as high up as there is room for it.

    `lit` are the numbers of the rows that light the area, ascending; `sets` has that of each strip.
    """
    shapely.prepare(area)
    found = []
    for number in np.setdiff1d(sets, sets[:1]).tolist():
        for strip in lit[(sets[lit] == number) & (lit > 0)].tolist():
            point = next(_points(area, grid, strip), None)
            if point is not None:
                found.append(point)
                break
    return tuple(found)


def _points(area: MultiPolygon, grid: StripGrid, strip: int) -> Iterator[Point]:
    """Points that fit above a strip: from the row before down to where the strip begins."""
    row = grid.first + grid.pitch * (strip - 1)
    foot = row + grid.pitch - grid.above
    tops = _apexes(area, grid, row)
    for start, end in grid.runs_at(area, foot):
        for low, high in tops:
            left, right = max(start, low), min(end, high)
            middle = min(max((left + right) / 2, start), end)
            half = min(WIDE * grid.pitch, (min(middle - start, end - middle)) / 2)
            if half < NARROWEST * grid.step:
                continue
            apex = min(max(middle, low), high)
            feet = [(middle - half, foot), (middle + half, foot)]
            for lower in (0.0, grid.step / 100):  # an edge at an angle may miss the row by a hair
                triangle = Polygon(grid.to_page([(apex, row + lower), *feet]))
                if area.covers(triangle):
                    yield Point(strip, triangle)
                    break


def _apexes(area: MultiPolygon, grid: StripGrid, row: float) -> list[tuple[float, float]]:
    """Stretches (u) of a row that lie in the area; of its uppermost edge, and be it a corner."""
    if row > grid.first:
        return grid.runs_at(area, row)
    points = shapely.get_coordinates(area)
    u, v = RowFrame(grid.angle).to_uv(*points.T)
    on = v <= grid.first + 1e-9
    ends: Floats = u[on]
    apart = [(one, other) for one, other in pairwise(ends) if one != other]
    return [(min(pair), max(pair)) for pair in apart] + [(one, one) for one in ends]
