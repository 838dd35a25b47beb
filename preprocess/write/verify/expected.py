"""The expected geometry of each path, from the artwork, and how far rounding may move it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import MultiLineString, MultiPolygon

from preprocess.model.artwork.settings import Operation

if TYPE_CHECKING:
    from shapely import Geometry

    from preprocess.geometry.base.bounds import Bounds
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.shape import Shape


@dataclass(frozen=True, slots=True, kw_only=True)
class ExpectedPath:
    """One shape as it should stand in the file, in page mm.

    `geometry` is an area (bars included), or lines to trace. `slack` is how far rounding each
    vertex to the grid can change the area: half the grid times the perimeter, along either axis.
    """

    geometry: Geometry
    filled: bool
    slack: float
    grid: float

    @property
    def negligible(self) -> bool:
        """True if rounding may make it vanish."""
        if self.filled:
            return self.geometry.area <= self.slack
        return self.geometry.length <= 2 * self.grid * shapely.get_num_coordinates(self.geometry)

    @property
    def box(self) -> Bounds:
        """Left, top, right, bottom."""
        return self.geometry.bounds

    @property
    def moments(self) -> tuple[float, float]:
        """First moments of the area about the page's corner, mm³."""
        parts = shapely.get_parts(self.geometry)  # of all at once, GEOS trusts which way each runs
        centres = shapely.get_coordinates(shapely.centroid(parts))
        along, down = shapely.area(parts) @ centres
        return float(along), float(down)


def expected_path(shape: Shape, artwork: Artwork) -> ExpectedPath:
    """The path that a shape should be written as."""
    area = shape.geometry
    if shape.bars is not None:
        area = MultiPolygon([*area.geoms, *shape.bars.geoms])
    placed = shapely.transform(area, lambda p: p - (artwork.page.left, artwork.page.top))
    filled = shape.operation is Operation.ENGRAVE
    if shape.is_area and not filled:
        placed = MultiLineString(list(shapely.get_rings(shapely.get_parts(placed))))
    grid = 10.0**-artwork.drawing.decimals
    return ExpectedPath(geometry=placed, filled=filled, slack=_slack(placed, grid), grid=grid)


def _slack(geometry: Geometry, grid: float) -> float:
    parts = shapely.get_parts(geometry)
    lines = shapely.get_rings(parts) if geometry.geom_type == "MultiPolygon" else parts
    coords, owner = shapely.get_coordinates(lines, return_index=True)
    steps = np.abs(np.diff(coords, axis=0))[np.diff(owner) == 0]
    return float(grid / 2 * steps.sum() + len(coords) * grid**2)
