"""Marks on the steps of a stair: on each a label, upright bars and a patch, always the same."""

from __future__ import annotations

from typing import TYPE_CHECKING

from shapely import MultiPolygon, box

from preprocess.coupon.artwork.layout import PlacedCell
from preprocess.coupon.artwork.shapes import translated
from preprocess.coupon.artwork.stroke_font import lettering_width, stroke_lettering
from preprocess.coupon.design.dimensions import LABEL_HEIGHT, LAYER_LETTERS, MARGIN
from preprocess.coupon.design.focus_stair import (
    END,
    LEAST_DEPTH,
    MIDDLE,
    STEPS,
    signed_height,
    stair_of,
)

if TYPE_CHECKING:
    from preprocess.coupon.artwork.cells import CellGeometry
    from preprocess.coupon.design.model import CouponDefinition

_BARS = ((0.15, 5), (0.3, 3))
"""Width of a bar, which is that of the gap beside it too, and number of bars, by set; mm."""

_BETWEEN = 1.0
"""Gap between label, bars, patch and id, mm."""

_PATCH = 5.0
"""Width of the patch, mm."""

_ID = 8
"""Digits of the id."""


def placed_step_marks(definition: CouponDefinition) -> tuple[PlacedCell, ...]:
    """The cells, from the highest step at the top of the plate to the lowest."""
    stair = stair_of(definition)
    pitch = definition.settings[0].pitch or 1.0
    high = max(1, round(LABEL_HEIGHT / pitch)) * pitch
    bars, bars_width = _bars(high)
    patch = MultiPolygon([box(0.0, 0.0, _PATCH, high)])
    label_x, bars_x, patch_x, _ = _columns(definition, bars_width)
    top = (stair.length - high) / 2
    found = []
    for number, off in enumerate(stair.off_focus):
        words = signed_height(off, minus="-")
        y = top + round((number - MIDDLE) * stair.depth / pitch) * pitch
        inward = _label_width(definition) - lettering_width(words, LABEL_HEIGHT)
        label_y = y + (high - LABEL_HEIGHT) / 2
        cell = PlacedCell(
            name=f"{LAYER_LETTERS[0]}{number + 1}",
            setting=0,
            size={"off_focus": off},
            shapes=(translated(bars, bars_x, y), translated(patch, patch_x, y)),
            label=translated(
                stroke_lettering(words, LABEL_HEIGHT), round(label_x + inward, 6), label_y
            ),
        )
        found.append(cell)
    return tuple(found)


def stair_size(definition: CouponDefinition) -> tuple[float, float]:
    """Least width and height of the plate, mm."""
    _, bars_width = _bars(LABEL_HEIGHT)
    return _width(definition, bars_width) + 2 * MARGIN, STEPS * LEAST_DEPTH + 2 * END


def place_of_stair_id(definition: CouponDefinition) -> tuple[float, float]:
    """Upper left corner of the id: on the middle step, beside its patch."""
    _, bars_width = _bars(LABEL_HEIGHT)
    return _columns(definition, bars_width)[3], (definition.plate[1] - LABEL_HEIGHT) / 2


def _columns(definition: CouponDefinition, bars_width: float) -> tuple[float, float, float, float]:
    """Where labels, bars, patches and the id begin, in the middle of the plate."""
    labels = (definition.plate[0] - _width(definition, bars_width)) / 2
    bars = labels + _label_width(definition) + _BETWEEN
    patch = bars + bars_width + _BETWEEN
    return round(labels, 3), round(bars, 3), round(patch, 3), round(patch + _PATCH + _BETWEEN, 3)


def _width(definition: CouponDefinition, bars_width: float) -> float:
    number = lettering_width("0" * _ID, LABEL_HEIGHT)
    return _label_width(definition) + bars_width + _PATCH + number + 3 * _BETWEEN


def _label_width(definition: CouponDefinition) -> float:
    heights = stair_of(definition).off_focus
    return max(lettering_width(signed_height(one, minus="-"), LABEL_HEIGHT) for one in heights)


def _bars(height: float) -> tuple[CellGeometry, float]:
    """Upright bars in sets, as one area, and the width of all."""
    found, x = [], 0.0
    for width, count in _BARS:
        starts = [x + 2 * n * width for n in range(count)]
        found += [box(start, 0.0, start + width, height) for start in starts]
        x += 2 * count * width + _BETWEEN / 2
    area = MultiPolygon(found)
    return area, float(area.bounds[2])
