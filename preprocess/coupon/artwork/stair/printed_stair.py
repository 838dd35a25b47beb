"""The stair to print, as an STL: steps rise to the top of the page, y is up."""

from __future__ import annotations

from typing import TYPE_CHECKING

from shapely import box

from preprocess.coupon.design.focus_stair import END, MIDDLE, STEPS
from preprocess.geometry.base.normalise import as_area
from preprocess.geometry.overlay.booleans import difference, union
from preprocess.geometry.relief.layers import SolidLayer, layers_mesh
from preprocess.write.stl import stl_bytes

if TYPE_CHECKING:
    from shapely import MultiPolygon

    from preprocess.coupon.design.focus_stair import FocusStair

_NOTCH = 1.0
"""Width and depth of the notches at both ends of the middle step, mm."""


def stair_stl(stair: FocusStair) -> bytes:
    """The stair as a binary STL, its lower left corner at 0, 0 and its underside at 0; in mm."""
    layers = [SolidLayer(0.0, stair.lowest, _from_step(stair, 0))]
    for number in range(1, STEPS):
        low = stair.lowest + (number - 1) * stair.rise
        layers.append(SolidLayer(low, low + stair.rise, _from_step(stair, number)))
    return stl_bytes(layers_mesh(layers))


def _from_step(stair: FocusStair, number: int) -> MultiPolygon:
    """All steps from one on, counted from the lowest, without the notches of the middle one."""
    below = END + number * stair.depth if number else 0.0
    area = as_area(box(0.0, below, stair.width, stair.length))
    return difference(area, _notches(stair)) if number <= MIDDLE else area


def _notches(stair: FocusStair) -> MultiPolygon:
    middle, half = stair.length / 2, _NOTCH / 2
    ends = (0.0, _NOTCH), (stair.width - _NOTCH, stair.width)
    return union([as_area(box(x0, middle - half, x1, middle + half)) for x0, x1 in ends])
