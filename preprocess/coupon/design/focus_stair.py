"""The stair of the coupon focus-steps: 17 steps of known height, the middle one to focus on."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from preprocess.units import digits

if TYPE_CHECKING:
    from preprocess.coupon.design.model import Coupon, CouponDefinition

STEPS = 17
MIDDLE = STEPS // 2

STAIR_PLATE = (60.0, 40.0)
"""Width and height of a stair unless given, mm: it is printed for this coupon alone."""

LEAST_DEPTH = 2.2
"""Depth of a step that holds a label, mm."""

END = 1.0
"""How much deeper the highest and the lowest step are, so that no mark lies near an edge, mm."""

_LEAST_BASE = 2.0
"""Least height of the lowest step above the bed, mm."""

_SAME = 1e-9


@dataclass(frozen=True, slots=True)
class FocusStair:
    """A stair from above: width, length over all steps and rise of one step, in mm."""

    width: float
    length: float
    rise: float

    @property
    def depth(self) -> float:
        """Depth of one step, mm; the highest and the lowest are deeper by `END`."""
        return (self.length - 2 * END) / STEPS

    @property
    def lowest(self) -> float:
        """Height of the lowest step above the bed, mm: a whole number of rises."""
        return math.ceil(_LEAST_BASE / self.rise - _SAME) * self.rise

    @property
    def focus(self) -> float:
        """Height of the middle step above the bed, mm."""
        return self.lowest + MIDDLE * self.rise

    @property
    def off_focus(self) -> tuple[float, ...]:
        """Heights of the steps above the middle one, from the highest step to the lowest, mm."""
        return tuple(round((MIDDLE - n) * self.rise, 6) for n in range(STEPS))


def stair_of(definition: CouponDefinition) -> FocusStair:
    """The stair on which a definition is marked."""
    return FocusStair(*definition.plate, definition.lengths[0])


def marked_stair(coupon: Coupon) -> FocusStair:
    """The stair on which a coupon is marked."""
    left, top, right, bottom = coupon.artwork.parts[0].bounds
    highest, below = (cell.size["off_focus"] for cell in coupon.cells[:2])
    return FocusStair(right - left, bottom - top, round(highest - below, 6))


def signed_height(height: float, *, minus: str = "−") -> str:
    """A height above or below the middle step, such as +0.25, −1.00 or 0; without its unit."""
    if not height:
        return "0"
    size = digits(abs(height), 4)
    places = max(2, len(size.partition(".")[2]))
    return f"{'+' if height > 0 else minus}{abs(height):.{places}f}"
