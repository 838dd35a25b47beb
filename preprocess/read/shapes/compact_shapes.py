"""Compact circles, ellipses and rectangles of four numbers; drawings hold ten thousands."""

from __future__ import annotations

import math
from array import array
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, ClassVar

import numpy as np

from preprocess.read.shapes.arcs import ellipse_cubics

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.arrays import Floats
    from preprocess.read.xml.affine import UserPoint


@dataclass(frozen=True, slots=True)
class Oval:
    """A circle or ellipse with an extent; as curves from its rightmost point on, clockwise."""

    x: float
    y: float
    rx: float
    ry: float

    inner: ClassVar[Sequence[int]] = ()

    @property
    def kinds(self) -> bytes:
        """A move, the curves, and the way back."""
        return b"M" + b"C" * (len(_on_circle(*_WHOLE)) // 3) + b"Z"

    @property
    def numbers(self) -> array[float]:
        """All points of the curves."""
        found = array("d", (self.x + self.rx, self.y))
        found.frombytes(round_points((self.x, self.y), (self.rx, self.ry), *_WHOLE).tobytes())
        return found

    def __bool__(self) -> bool:
        return True


@dataclass(frozen=True, slots=True)
class Rectangle:
    """A rectangle with an extent and sharp corners, clockwise from its top left one."""

    x: float
    y: float
    right: float
    bottom: float

    inner: ClassVar[Sequence[int]] = ()
    kinds: ClassVar[bytes] = b"MLLLZ"

    @property
    def numbers(self) -> array[float]:
        """Its four corners."""
        x, y, right, bottom = self.x, self.y, self.right, self.bottom
        return array("d", (x, y, right, y, right, bottom, x, bottom))

    def __bool__(self) -> bool:
        return True


_WHOLE = (0.0, 360.0)


def round_points(centre: UserPoint, radii: UserPoint, first: float, turn: float) -> Floats:
    """Points (n x 2) of curves along an upright ellipse, but for the first; angles in degrees."""
    return _on_circle(first, turn) * radii + centre


@cache
def _on_circle(first: float, turn: float) -> Floats:
    """Points of curves along the unit circle about the origin."""
    found = ellipse_cubics((0.0, 0.0), (1.0, 0.0, 0.0, 1.0), *map(math.radians, (first, turn)))
    return np.array(found).reshape(-1, 2)
