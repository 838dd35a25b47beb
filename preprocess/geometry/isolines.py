"""Lines along which a linear or radial gradient has one offset, in mm.

Source: SVG 2, sections 14.2.2 and 14.2.3; a radial gradient is a family of circles.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.geometry.snap import rounded

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from preprocess.model.shape import Matrix

    Floats = NDArray[np.float64]

Point = tuple[float, float]
Bounds = tuple[float, float, float, float]

NESTED = 0.999
"""The first circle is kept this far inside the last, so that each place has one offset."""

_FEWEST = 16


@dataclass(frozen=True, slots=True)
class Across:
    """A linear gradient: offset 0 at `start`, 1 at `end`, in units that `matrix` maps to mm."""

    start: Point
    end: Point
    matrix: Matrix

    def at(self, points: Floats) -> Floats:
        """Offsets at points (n × 2, mm)."""
        gx, gy, g0 = self._slope()
        return points[:, 0] * gx + points[:, 1] * gy + g0

    def reach(self, bounds: Bounds) -> tuple[float, float]:
        """Least and greatest offset within a box."""
        found = self.at(_corners(bounds))
        return float(found.min()), float(found.max())

    def line(self, offset: float, bounds: Bounds, _: float) -> shapely.LineString | None:
        """The line of one offset, right across a box."""
        gx, gy, _g0 = self._slope()
        middle = np.array(((bounds[0] + bounds[2]) / 2, (bounds[1] + bounds[3]) / 2))
        steep = math.hypot(gx, gy)
        away = (offset - float(self.at(middle[None])[0])) / steep
        foot = middle + away * np.array((gx, gy)) / steep
        half = math.hypot(bounds[2] - bounds[0], bounds[3] - bounds[1]) + 1.0
        along = half * np.array((-gy, gx)) / steep
        return shapely.linestrings(np.vstack((foot - along, foot + along)))

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
class Around:
    """A radial gradient: circles from (`focus`, `first`) at 0 to (`centre`, `radius`) at 1.

    Points and radii are in units that `matrix` maps to mm. A focus outside the last circle is
    taken to lie just inside it, as SVG 1.1 has it.
    """

    centre: Point
    radius: float
    focus: Point
    first: float
    matrix: Matrix

    def at(self, points: Floats) -> Floats:
        """Offsets at points (n × 2, mm)."""
        focus, first, shift, growth = self._family()
        away = _back(points, self.matrix) - focus
        a = float(shift @ shift) - growth * growth
        b = away @ shift + first * growth
        c = (away * away).sum(axis=1) - first * first
        return (b - np.sqrt(np.maximum(b * b - a * c, 0.0))) / a

    def reach(self, bounds: Bounds) -> tuple[float, float]:
        """Least and greatest offset within a box; the least is that of the innermost point."""
        _, first, _, growth = self._family()
        return -first / growth, float(self.at(_corners(bounds)).max())

    def line(self, offset: float, _: Bounds, tolerance: float) -> shapely.LineString | None:
        """The ellipse of one offset; None where it is a point."""
        focus, first, shift, growth = self._family()
        centre, radius = focus + offset * shift, first + offset * growth
        if radius <= 0:
            return None
        a, b, c, d, e, f = self.matrix
        large = radius * math.sqrt(a * a + b * b + c * c + d * d)
        step = 2 * math.acos(max(0.0, 1 - tolerance / large)) if large > tolerance else math.pi
        count = max(_FEWEST, math.ceil(2 * math.pi / step))
        angle = 2 * math.pi * np.arange(count) / count
        x, y = centre[0] + radius * np.cos(angle), centre[1] + radius * np.sin(angle)
        ring = rounded(np.column_stack((a * x + c * y + e, b * x + d * y + f)))
        return shapely.linestrings(np.vstack((ring, ring[:1])))

    def _family(self) -> tuple[Floats, float, Floats, float]:
        """Focus and first radius, and how both change from offset 0 to 1."""
        centre, focus = np.array(self.centre), np.array(self.focus)
        first = min(self.first, NESTED * self.radius)
        room = NESTED * (self.radius - first)
        away = math.hypot(*(focus - centre))
        if away > room:
            focus = centre + (focus - centre) * room / away
        return focus, first, centre - focus, self.radius - first


def _corners(bounds: Bounds) -> Floats:
    left, top, right, bottom = bounds
    return np.array(((left, top), (right, top), (right, bottom), (left, bottom)))


def _back(points: Floats, matrix: Matrix) -> Floats:
    a, b, c, d, e, f = matrix
    x, y, det = points[:, 0] - e, points[:, 1] - f, a * d - b * c
    return np.column_stack(((d * x - c * y) / det, (a * y - b * x) / det))
