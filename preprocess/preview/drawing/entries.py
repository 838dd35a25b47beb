"""One thing that the overlay shows: drawn in the picture and listed in the legend alike."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from shapely import Geometry

    from preprocess.preview.drawing.canvas import Paint


class Section(StrEnum):
    """Headings of the legend."""

    PLACE = "Where it lies"
    MAP = "On the map"
    LAYER = "What is marked"
    CHANGE = "What was changed"


@dataclass(frozen=True, slots=True, kw_only=True)
class LegendEntry:
    """What is drawn, how, and what the legend says of it.

    `patterns` are the definitions that its paint needs. What is `hidden` lies around the picture
    and is only listed.
    """

    section: Section
    geometry: Geometry
    paint: Paint
    words: str
    amount: str = ""
    patterns: tuple[str, ...] = ()
    hidden: bool = False


def square_mm(area: float) -> str:
    """An area in words, three digits or more."""
    decimals = 1 if area >= 9.995 else 2 if area >= 0.1 else 4  # noqa: PLR2004 - digits to show
    return f"{area:.{decimals}f} mm²"


def millimetres(length: float) -> str:
    """A length in words."""
    return f"{length:.1f} mm" if length >= 9.95 else f"{length:.2f} mm"  # noqa: PLR2004 - digits


def counted(count: int, noun: str) -> str:
    """A number of things."""
    return f"{count} {noun}{'' if count == 1 else 's'}"
