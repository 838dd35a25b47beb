"""The expected geometry of each path, from the artwork, and how far rounding may move it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from shapely import MultiLineString, MultiPolygon

from preprocess.model.artwork.settings import Operation
from preprocess.write.verify.ring_match import Rings, rings_of_areas

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from shapely import Geometry

    from preprocess.arrays import Floats, Geometries, Points
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.shape import Shape

_POLYGON = 3
"""Type of GEOS."""

_AT_ONCE = 2000
"""Shapes that are measured together: enough to be quick, few enough to be small."""

_NO_RINGS = Rings((), ())


@dataclass(frozen=True, slots=True, kw_only=True)
class ExpectedPath:
    """One shape as it should stand in the file, in page mm.

    `geometry` is an area (bars included), or lines to trace. `slack` is how far rounding each
    vertex to the grid can change the area: half the grid times the perimeter, along either axis.
    `box` is left, top, right and bottom; `moments` are the first moments of the area about the
    page's corner, mm³. Rounding may make a path vanish that is `negligible`. Lines have no rings.
    """

    geometry: Geometry
    filled: bool
    grid: float
    area: float
    length: float
    box: Sequence[float]
    moments: Sequence[float]
    slack: float
    negligible: bool
    rings: Rings

    @property
    def vertices(self) -> int:
        """Number of vertices, those that close a ring twice."""
        return int(shapely.get_num_coordinates(self.geometry))


def expected_paths(shapes: Sequence[Shape], artwork: Artwork) -> list[ExpectedPath]:
    """The paths that shapes of one output layer should be written as."""
    firsts = range(0, len(shapes), _AT_ONCE)
    return [one for n in firsts for one in _expected(shapes[n : n + _AT_ONCE], artwork)]


def _expected(shapes: Sequence[Shape], artwork: Artwork) -> list[ExpectedPath]:
    filled = shapes[0].operation is Operation.ENGRAVE
    grid = 10.0**-artwork.drawing.decimals
    shift = (artwork.page.left, artwork.page.top)
    placed = shapely.transform(
        np.array([_drawn(shape, filled=filled) for shape in shapes], dtype=object),
        lambda points: points - shift,
    )
    area, length, slack = shapely.area(placed), shapely.length(placed), _slack(placed, grid)
    least = slack if filled else 2 * grid * shapely.get_num_coordinates(placed)
    rings = rings_of_areas(placed, grid) if filled else [_NO_RINGS] * len(shapes)
    columns: dict[str, Sequence[object]] = {
        "geometry": placed.tolist(),
        "area": area.tolist(),
        "length": length.tolist(),
        "box": shapely.bounds(placed).tolist(),
        "moments": _moments(placed).tolist(),
        "slack": slack.tolist(),
        "negligible": ((area if filled else length) <= least).tolist(),
        "rings": rings,
    }
    rows: Iterator[dict[str, Any]] = (
        dict(zip(columns, row, strict=True)) for row in zip(*columns.values(), strict=True)
    )
    return [ExpectedPath(**row, filled=filled, grid=grid) for row in rows]


def _drawn(shape: Shape, *, filled: bool) -> Geometry:
    area = shape.geometry
    if shape.bars is not None:
        area = MultiPolygon([*area.geoms, *shape.bars.geoms])
    if shape.is_area and not filled:
        return MultiLineString(list(shapely.get_rings(shapely.get_parts(area))))
    return area


def _moments(geometries: Geometries) -> Points:
    parts, owner = shapely.get_parts(geometries, return_index=True)
    centres = shapely.get_coordinates(shapely.centroid(parts))  # of all at once, GEOS trusts
    moments = shapely.area(parts)[:, None] * centres  # which way each part runs
    along, down = (np.bincount(owner, m, minlength=len(geometries)) for m in moments.T)
    return np.column_stack((along, down))


def _slack(geometries: Geometries, grid: float) -> Floats:
    parts, owner = shapely.get_parts(geometries, return_index=True)
    if shapely.get_type_id(parts[:1]).tolist() == [_POLYGON]:
        parts, part = shapely.get_rings(parts, return_index=True)
        owner = owner[part]
    coords, line = shapely.get_coordinates(parts, return_index=True)
    owner, inside = owner[line], np.diff(line) == 0
    steps = np.abs(np.diff(coords, axis=0)).sum(axis=1)[inside]
    total = np.bincount(owner[1:][inside], steps, minlength=len(geometries))
    count = np.bincount(owner, minlength=len(geometries))
    return grid / 2 * total + count * grid**2
