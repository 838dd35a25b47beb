"""What the sheet says of the stair of focus-steps: how to print it, where to focus."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.coupon.design.focus_stair import MIDDLE, STEPS, marked_stair
from preprocess.preview.sheet.quantities import size_text
from preprocess.units import digits

if TYPE_CHECKING:
    from preprocess.coupon.design.model import Coupon

STAIR_CAPTION = (
    "The stair from above, its highest step at the top, in the colours of the layers. A label is "
    "the height of its step over the middle one, in mm. Cells are counted from the top."
)


def stair_facts(coupon: Coupon) -> list[tuple[str, str]]:
    """Name and text of the facts that take the place of the plate."""
    stair = marked_stair(coupon)
    rise, half = digits(stair.rise), digits(stair.rise / 2)
    printed = (
        f"{size_text(stair.width, stair.length)}, {STEPS} steps of {rise} mm; print its .stair.stl "
        f"flat, like the parts, a new one for each trial; layers of {rise} or {half} mm, the first "
        "one too; measure some steps with callipers"
    )
    focus = (
        f"once, on the middle step: {coupon.cells[MIDDLE].name}, label 0, a notch at both ends, "
        f"{digits(stair.focus)} mm above the bed; then leave it, automatic focus off"
    )
    room = (
        f"the highest step is {digits(MIDDLE * stair.rise)} mm over the focus: see that nothing "
        "touches it"
    )
    return [("Stair", printed), ("Focus", focus), ("Room", room)]
