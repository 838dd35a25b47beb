"""Measures that all coupons share: labels, margins, blades, leaves, and the field they may use."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from preprocess.coupon.design.model import CouponDefinition

LAYER_LETTERS = "ABCDEFG"
"""Names of layers; with the labels there are at most 8 settings to type in."""

LABEL_HEIGHT = 1.6
"""Height of the labels, mm."""

MARGIN = 1.5
"""Distance from the edge of the plate to the first mark, mm."""

BLADE_HEIGHT = 5.0
"""Height of a blade down its rows, mm: the heat settles after the first rows."""

TAPER = (12.0, 0.5)
"""Height of a tapering leaf and width of its tip, mm."""

LEAF_SIZE = (5.0, 8.0)
"""Width and height of a leaf, mm."""


def usable_field(definition: CouponDefinition) -> tuple[float, float]:
    """Width and height of the usable part of the field, mm; infinite for an unknown field."""
    field = definition.machine.field if definition.machine else None
    sides = [side for side in (definition.room, field) if side is not None]
    across, down = ([side[n] for side in sides] for n in (0, 1))
    return min(across, default=float("inf")), min(down, default=float("inf"))
