"""Shapes of a coupon: blades, leaves, seeds, sprigs, stems, gaps and lines, in mm.

Each shape has the upper left corner of its box at the origin; x to the right, y down.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, TypeVar

import numpy as np
import shapely
from shapely import LineString, MultiLineString, MultiPolygon, Point, Polygon, affinity

from preprocess.geometry.overlay.booleans import union

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

    from preprocess.arrays import Floats


_Geometry = TypeVar("_Geometry", bound=shapely.Geometry)

_STEPS = 32
_BEND = 0.06
"""Bend of a blade to one side, as a share of its height."""

_STRIPS = 12
"""Strips below the bar of a vernier's column."""

_ROUND = 24
"""Segments of a quarter of a dot."""


def blade(span: float, height: float) -> MultiPolygon:
    """A blade of grass that leans: bent sides, but every row has exactly the same span."""
    t = np.linspace(0.0, 1.0, _STEPS + 1)
    left = _BEND * height * np.sin(math.pi * t)
    return _between(left, left + span, height * t)


def pointed_leaf(width: float, height: float, tip: float) -> MultiPolygon:
    """A leaf with a drawn-out tip at its lower end, cut off where it is `tip` wide."""
    t = np.linspace(0.0, 1.0, _STEPS + 1)
    form = (1 - t) ** 1.5 * (1 - 0.4 * (1 - t) ** 6)
    half = tip / 2 + (width - tip) / 2 * form / form.max()
    return _at_origin(_between(-half, half, height * t))


def seed(diameter: float) -> MultiPolygon:
    """A round seed."""
    return _at_origin(_area(Point(0.0, 0.0).buffer(diameter / 2, quad_segs=_ROUND)))


def seed_row(diameter: float, count: int, gap: float) -> MultiPolygon:
    """Seeds side by side, so that every row runs over all of them."""
    one = seed(diameter)
    return union([affinity.translate(one, xoff=n * (diameter + gap)) for n in range(count)])


def sprig(width: float) -> MultiPolygon:
    """A twig with three pairs of leaves and a seed at its end; its height is 0.6 of its width."""
    stem = LineString([(0.02, 0.32), (0.3, 0.28), (0.6, 0.29), (0.84, 0.31)])
    parts: list[BaseGeometry] = [stem.buffer(0.02, quad_segs=8)]
    for x, y, size in ((0.22, 0.29, 0.3), (0.46, 0.285, 0.26), (0.66, 0.295, 0.2)):
        parts += [_leaflet(x, y, size, turn) for turn in (-50.0, 50.0)]
    parts.append(Point(0.9, 0.315).buffer(0.07, quad_segs=_ROUND))
    drawn = _at_origin(union(parts))
    _, _, right, bottom = drawn.bounds
    return _area(affinity.scale(drawn, width / right, 0.6 * width / bottom, origin=(0, 0)))


def gap_gauge(gap: float, height: float, blade_width: float = 1.6) -> MultiPolygon:
    """Two upright blocks with a gap of known width between them."""
    left = shapely.box(0.0, 0.0, blade_width, height)
    right = shapely.box(blade_width + gap, 0.0, 2 * blade_width + gap, height)
    return _area(MultiPolygon([left, right]))


def upright_line(width: float, height: float) -> MultiPolygon:
    """An upright line of known width, as an area."""
    return _area(shapely.box(0.0, 0.0, width, height))


def vernier_column(width: float, pitch: float, phase: float) -> MultiPolygon:
    """A bar, and below it strips thinner than the pitch, `phase` pitches lower than its rows.

    The bar is ten pitches high, and rows that begin on its upper edge run through the middle of
    the strips of phase 0.
    """
    thick = pitch / 10
    strips = [
        shapely.box(0.0, y - thick / 2, width, y + thick / 2)
        for y in (pitch * (11 + number + phase) for number in range(_STRIPS))
    ]
    return _area(MultiPolygon([shapely.box(0.0, 0.0, width, 10 * pitch), *strips]))


def stems(length: float, count: int = 3, apart: float = 1.2) -> MultiLineString:
    """Wavy stems side by side, to be scored."""
    t = np.linspace(0.0, 1.0, _STEPS + 1)
    sway = 0.25 * (1 - np.cos(2 * math.pi * t))
    lines = [np.column_stack([n * apart + sway, length * t]).tolist() for n in range(count)]
    return _rounded(MultiLineString(lines))


def translated(shape: _Geometry, x: float, y: float) -> _Geometry:
    """The shape moved, on the grid of 1e-6 mm that all artwork keeps."""
    return _rounded(affinity.translate(shape, x, y))


def _at_origin(area: MultiPolygon) -> MultiPolygon:
    """The shape with the upper left corner of its box at the origin."""
    left, top, _, _ = area.bounds
    return _area(affinity.translate(area, -left, -top))


def _leaflet(x: float, y: float, size: float, turn: float) -> BaseGeometry:
    """A small leaf that grows from x, y at an angle; in shares of the sprig's width."""
    t = np.linspace(0.0, 1.0, _STEPS + 1)
    half = 0.2 * size * np.sin(math.pi * t) * (1.25 - 0.5 * t)
    lying = affinity.rotate(_between(-half, half, size * t), -90.0, origin=(0, 0))
    return affinity.translate(affinity.rotate(lying, turn, origin=(0, 0)), x, y)


def _between(left: Floats, right: Floats, y: Floats) -> MultiPolygon:
    """The area between two sides that are given at the same heights."""
    ring = [*zip(left, y, strict=True), *zip(right[::-1], y[::-1], strict=True)]
    return _area(Polygon(ring))


def _area(shape: BaseGeometry) -> MultiPolygon:
    rounded = _rounded(shape)
    return rounded if isinstance(rounded, MultiPolygon) else MultiPolygon([rounded])


def _rounded(shape: _Geometry) -> _Geometry:
    return shapely.transform(shape, lambda points: np.round(points, 6))
