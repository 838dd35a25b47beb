"""What the sheet says of the stair of focus-steps: how to print it, where to focus, what to see."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.coupon.design.focus_stair import MIDDLE, STEPS, marked_stair
from preprocess.preview.sheet.quantities import size_text
from preprocess.units import digits

if TYPE_CHECKING:
    from preprocess.coupon.design.model import Coupon

SHARPNESS_TEXTS = (
    ("sharp", "as sharp as the best step: all gaps open, edges crisp, the patch as strong"),
    ("soft", "to be seen well, but edges blur, a narrow gap closes, or the patch is weaker"),
    ("hardly", "hardly to be seen, or nothing"),
)
"""The words of the column sharpness."""

TO_JUDGE_SHARPNESS = (
    (
        "Let the stair cool, and brush it off. Look through a magnifier, in light from the side. "
        "Marks may be lighter or darker than the plastic."
    ),
    "Find the sharpest step first; compare each other step with it, from the middle outward.",
    "Write sharp, soft or hardly into the column sharpness. Sharp steps lie side by side.",
)

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
