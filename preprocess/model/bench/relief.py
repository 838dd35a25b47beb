"""The relief of a part: its outline and heights seen from the beam, taken from its model."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from shapely import MultiPolygon

    from preprocess.arrays import Floats


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Relief:
    """A part seen from above, mm: x to the right, y down the page, 0, 0 in the middle of its box.

    `flat` is in focus and level enough; `raised`, `sunk` and `slanted` are the rest of `outline`.
    `plane` is the height of the marked surface above the lowest place, `top` that of the highest.
    `in_focus` is how far up and down a mark stays even. `triangles` (n × 3 × 3) are the surface,
    z up.
    """

    outline: MultiPolygon
    flat: MultiPolygon
    raised: MultiPolygon
    sunk: MultiPolygon
    slanted: MultiPolygon
    plane: float
    top: float
    in_focus: float
    triangles: Floats
