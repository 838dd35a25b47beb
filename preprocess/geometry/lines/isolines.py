"""Isolines of linear and radial gradients: lines of one offset, in mm.

Source: SVG 2, sections 14.2.2 and 14.2.3; a radial gradient is a family of circles.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.geometry.base.affine import map_points
from preprocess.geometry.base.rounding import round_coordinates

if TYPE_CHECKING:
    from preprocess.arrays import Floats
    from preprocess.model.artwork.shape import Matrix


_Point = tuple[float, float]
_Bounds = tuple[float, float, float, float]

_NESTED = 0.999
"""A first circle that touches the last one is taken to lie this far inside it."""

_FEWEST = 16
_BEYOND = 1.001


@dataclass(frozen=True, slots=True)
class LinearIsolines:
    """Isolines of a linear gradient: offset 0 at `start`, 1 at `end`.

    Both are in units that `matrix` maps to mm.
    """

    start: _Point
    end: _Point
    matrix: Matrix

    def at(self, points: Floats) -> Floats:
        """Offsets at points (n × 2, mm)."""
        gx, gy, g0 = self._slope()
        return points[:, 0] * gx + points[:, 1] * gy + g0

    def reach(self, bounds: _Bounds) -> tuple[float, float]:
        """Least and greatest offset within a box."""
        found = self.at(_corners(bounds))
        return float(found.min()), float(found.max())

    def line(self, offset: float, bounds: _Bounds, _: float) -> shapely.LineString | None:
        """The line of one offset, right across a box."""
        gx, gy, _g0 = self._slope()
        middle = np.array(((bounds[0] + bounds[2]) / 2, (bounds[1] + bounds[3]) / 2))
        steep = math.hypot(gx, gy)
        away = (offset - float(self.at(middle[None])[0])) / steep
        foot = middle + away * np.array((gx, gy)) / steep
        half = math.hypot(bounds[2] - bounds[0], bounds[3] - bounds[1]) + 1.0
        along = half * np.array((-gy, gx)) / steep
        return shapely.linestrings(np.vstack((foot - along, foot + along)))

    def borders(self, _: _Bounds) -> list[shapely.LineString]:
        """Lines beyond which there is no gradient: none."""
        return []

    def _slope(self) -> tuple[float, float, float]:
        """The offset as gx · x + gy · y + g0."""
        a, b, c, d, e, f = self.matrix
        det = a * d - b * c
        dx, dy = self.end[0] - self.start[0], self.end[1] - self.start[1]
        square = dx * dx + dy * dy
        gx, gy = (dx * d - dy * b) / det / square, (dy * a - dx * c) / det / square
        begin = (dx * self.start[0] + dy * self.start[1]) / square
        return gx, gy, -begin - gx * e - gy * f


@dataclass(frozen=True, slots=True)
class RadialIsolines:
    """Isolines of a radial gradient: circles from (`focus`, `first`) to (`centre`, `radius`).

    Offsets run from 0 to 1. Points and radii are in units that `matrix` maps to mm. When the first
    circle does not lie in the last one the circles fill a wedge only; of two circles through a
    place the later shows.
    """

    centre: _Point
    radius: float
    focus: _Point
    first: float
    matrix: Matrix

    def at(self, points: Floats) -> Floats:
        """Offsets at points (n × 2, mm); NaN where no circle passes."""
        family = self._family()
        away = _back(points, self.matrix) - family.focus
        b = away @ family.shift + family.first * family.growth
        c = (away * away).sum(axis=1) - family.first**2
        inner = b * b - family.opening * c
        nested = family.opening < 0
        root = np.sqrt(np.maximum(inner, 0.0))
        found = (b - root if nested else b + root) / family.opening
        missed = (inner < 0) | (found < family.apex)
        return found if nested else np.where(missed, np.nan, found)

    def reach(self, bounds: _Bounds) -> tuple[float, float]:
        """Offset of the innermost point, and one that no place in the box exceeds."""
        family = self._family()
        if family.opening < 0:
            return family.apex, float(self.at(_corners(bounds)).max())
        tip = family.focus + family.apex * family.shift
        far = np.hypot(*(_back(_corners(bounds), self.matrix) - tip).T).max()
        slowest = math.hypot(*family.shift) - family.growth
        return family.apex, family.apex + float(far) / slowest

    def line(self, offset: float, _: _Bounds, tolerance: float) -> shapely.LineString | None:
        """The ellipse of one offset, or its part that shows; None where it is a point."""
        family = self._family()
        centre = family.focus + offset * family.shift
        radius = family.first + offset * family.growth
        if radius <= 0:
            return None
        a, b, c, d, _e, _f = self.matrix
        large = radius * math.sqrt(a * a + b * b + c * c + d * d)
        step = 2 * math.acos(max(0.0, 1 - tolerance / large)) if large > tolerance else math.pi
        ring = centre + radius * family.directions(step)
        return shapely.linestrings(round_coordinates(map_points(ring, self.matrix)))

    def borders(self, bounds: _Bounds) -> list[shapely.LineString]:
        """The two sides of the wedge, as far as the box; none where the circles are nested."""
        family = self._family()
        if family.opening < 0:
            return []
        tip = family.focus + family.apex * family.shift
        far = np.hypot(*(_back(_corners(bounds), self.matrix) - tip).T).max() + self.radius
        ends = [family.ahead + sign * family.half_angle for sign in (1, -1)]
        sides = [tip + far * np.array((math.cos(end), math.sin(end))) for end in ends]
        return [
            shapely.linestrings(map_points(np.vstack((tip, side)), self.matrix)) for side in sides
        ]

    def _family(self) -> _Family:
        centre, focus = np.array(self.centre), np.array(self.focus)
        first = min(self.first, _NESTED * self.radius)
        room = self.radius - first
        away = math.hypot(*(focus - centre))
        if _NESTED * room < away < room / _NESTED:
            focus = centre + (focus - centre) * _NESTED * room / away
        return _Family(focus, first, centre - focus, room)


@dataclass(frozen=True, slots=True)
class _Family:
    """Focus and first radius, and how both change from offset 0 to 1."""

    focus: Floats
    first: float
    shift: Floats
    growth: float

    @property
    def opening(self) -> float:
        """Negative where the circles are nested, positive where they fill a wedge."""
        return float(self.shift @ self.shift) - self.growth**2

    @property
    def ahead(self) -> float:
        """Direction from the focus to the centre, radians."""
        return math.atan2(self.shift[1], self.shift[0])

    @property
    def half_angle(self) -> float:
        """Half the angle of the wedge, radians."""
        return math.asin(self.growth / math.hypot(*self.shift))

    def directions(self, step: float) -> Floats:
        """Unit vectors around a circle that returns to its start, at most `step` radians apart.

        Of a circle in a wedge only the arc that faces the tip shows; its ends reach a little
        beyond the sides, so that it surely parts the wedge.
        """
        half = math.pi if self.opening < 0 else math.pi / 2 - self.half_angle
        count = max(_FEWEST, math.ceil(2 * half / step))
        angle = self.ahead + math.pi + np.linspace(-half, half, count + 1)
        found = np.column_stack((np.cos(angle), np.sin(angle)))
        if self.opening < 0:
            return np.vstack((found[:-1], found[:1]))
        return np.vstack((found[0] * _BEYOND, found, found[-1] * _BEYOND))

    @property
    def apex(self) -> float:
        """The offset at which the circle is a point."""
        return -self.first / self.growth


def _corners(bounds: _Bounds) -> Floats:
    left, top, right, bottom = bounds
    return np.array(((left, top), (right, top), (right, bottom), (left, bottom)))


def _back(points: Floats, matrix: Matrix) -> Floats:
    a, b, c, d, e, f = matrix
    x, y, det = points[:, 0] - e, points[:, 1] - f, a * d - b * c
    return np.column_stack(((d * x - c * y) / det, (a * y - b * x) / det))
