"""The shade of raised places: where the beam, leaning outward, meets them on its way.

Below a field lens the beam at x from the axis comes from a point f above the middle of the plane
(similar triangles). A place is shaded by what is h high over the place scaled by 1 - h / f, so a
rib shades its area scaled by 1 / (1 - h / f) about the axis, and all that lies between.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.geometry.base.normalise import NOTHING
from preprocess.geometry.overlay.booleans import union
from preprocess.geometry.relief.heights import area_above

if TYPE_CHECKING:
    from collections.abc import Iterator

    from shapely import MultiPolygon

    from preprocess.arrays import Floats, Geometries

_LAYERS = 5


def shade_of(
    triangles: Floats, *, above: float, plane: float, axis: tuple[float, float], focal_length: float
) -> MultiPolygon:
    """The area shaded by all that is higher than `above`, with that itself, mm.

    Args:
        triangles: of the part, n × 3 × 3.
        above: height from which something is raised.
        plane: height of the marked surface.
        axis: where the optical axis meets it.
        focal_length: of the lens; much more than any height.
    """
    top = float(triangles[:, :, 2].max())
    if top <= above:
        return NOTHING
    heights = np.linspace(above, top, _LAYERS + 1)
    swept = []
    for low, high in zip(heights[:-1].tolist(), heights[1:].tolist(), strict=True):
        factor = 1 / (1 - (high - plane) / focal_length)
        swept += [*_swept(area_above(triangles, low), axis, factor)]
    return union(swept)


def _swept(
    area: MultiPolygon, axis: tuple[float, float], factor: float
) -> Iterator[MultiPolygon | Geometries]:
    """An area, its image scaled about a point, and the way of each edge between them."""
    if area.is_empty:
        return
    yield area
    yield shapely.transform(area, lambda points: _scaled(points, axis, factor))
    for ring in shapely.get_rings(shapely.get_parts(area)):
        near = shapely.get_coordinates(ring)
        far = _scaled(near, axis, factor)
        quads = np.stack([near[:-1], near[1:], far[1:], far[:-1]], axis=1)
        ways = shapely.polygons(quads)
        yield union(ways[shapely.is_valid(ways) & (shapely.area(ways) > 0)])


def _scaled(points: Floats, axis: tuple[float, float], factor: float) -> Floats:
    return (points - axis) * factor + axis
