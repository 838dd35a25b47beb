"""Pictures of pixels in the drawing: carried through, or marked by greys that they have."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from preprocess.model.artwork.shape import Matrix

LAYER = "images"
"""Name of the layer of the output that holds the pictures."""


class Images(StrEnum):
    """Treatment of embedded pictures."""

    KEEP = "keep"
    DROP = "drop"
    GREY = "grey"


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """One embedded picture.

    `matrix` maps the unit square, with the picture's upper left corner at (0, 0), to mm.
    `media` is its type, such as "image/png", `pixels` its size, `data` its bytes in base64.
    `label` and `around` name the groups around it, as those of a `Source` do.
    """

    id: str
    matrix: Matrix
    media: str
    pixels: tuple[int, int]
    data: str
    line: int | None = None
    label: str | None = None
    around: tuple[str, ...] = ()

    @property
    def href(self) -> str:
        """The data URL that holds it."""
        return f"data:{self.media};base64,{self.data}"

    @property
    def size(self) -> tuple[float, float]:
        """Lengths in mm of its upper and its left edge."""
        a, b, c, d, _, _ = self.matrix
        return (a * a + b * b) ** 0.5, (c * c + d * d) ** 0.5

    @property
    def is_upright(self) -> bool:
        """True if it is neither turned, nor mirrored, nor skewed."""
        a, b, c, d, _, _ = self.matrix
        return a > 0 and d > 0 and max(abs(b), abs(c)) <= 1e-9 * max(a, d)

    @property
    def corners(self) -> tuple[tuple[float, float], ...]:
        """Its corners in mm, clockwise as drawn from the upper left one."""
        a, b, c, d, e, f = self.matrix
        return (e, f), (a + e, b + f), (a + c + e, b + d + f), (c + e, d + f)
