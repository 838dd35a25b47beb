"""Tapering blades for a photo: every span from the wide end to the tip, side by side."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from shapely import MultiPolygon, Polygon

from preprocess.coupon.artwork.layout import PlacedCell
from preprocess.coupon.artwork.shapes import translated
from preprocess.coupon.artwork.stroke_font import lettering_width, stroke_lettering
from preprocess.coupon.design.dimensions import LABEL_HEIGHT, LAYER_LETTERS

if TYPE_CHECKING:
    from preprocess.coupon.design.model import CouponDefinition

_BETWEEN = 2.0
"""Gap between the wide ends of two blades, mm."""

_BESIDE = 1.0
"""Gap from a tip to its label, mm."""


def placed_blades(definition: CouponDefinition) -> tuple[PlacedCell, ...]:
    """A blade for each layer, wide end up, with its label beside the tip."""
    wide, tip, length = definition.lengths
    count = len(definition.settings)
    pace = wide + _BETWEEN
    left = (definition.plate[0] - count * pace + _BETWEEN) / 2
    top = (definition.plate[1] - length) / 2
    blade = tapering_blade(wide, tip, length)
    placed = []
    for number in range(count):
        x = left + number * pace
        name = f"{LAYER_LETTERS[number]}1"
        beside = x + (wide + tip) / 2 + _BESIDE
        placed.append(
            PlacedCell(
                name=name,
                setting=number,
                size={"width": wide, "tip": tip, "height": length},
                shapes=(translated(blade, x, top),),
                label=translated(
                    stroke_lettering(name, LABEL_HEIGHT), beside, top + length - LABEL_HEIGHT
                ),
            )
        )
    return tuple(placed)


def place_of_id(definition: CouponDefinition, digits: str) -> tuple[float, float]:
    """Where the id stands: between the first two blades, above the labels (x and y, mm)."""
    wide, _, length = definition.lengths
    axis = (definition.plate[0] - (len(definition.settings) - 1) * (wide + _BETWEEN)) / 2
    middle = axis + (wide + _BETWEEN) / 2
    bottom = (definition.plate[1] + length) / 2
    x = middle - lettering_width(digits, LABEL_HEIGHT) / 2
    return x, bottom - 2 * LABEL_HEIGHT - _BESIDE


def tapering_blade(wide: float, tip: float, length: float) -> MultiPolygon:
    """A straight taper down the rows, its box at the origin, mm."""
    ends = (wide - tip) / 2, (wide + tip) / 2
    ring = [(0.0, 0.0), (wide, 0.0), (ends[1], length), (ends[0], length)]
    return MultiPolygon([Polygon(np.round(ring, 6))])
