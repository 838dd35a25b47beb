"""One thing that a picture shows: drawn in the picture and listed in the legend alike."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from preprocess.preview.drawing.canvas import group, mm, path, rectangle

if TYPE_CHECKING:
    from shapely import Geometry

    from preprocess.preview.drawing.canvas import Paint, Viewport


class Section(StrEnum):
    """Headings of the legend."""

    PLACE = "Around the art"
    MAP = "On the map"
    LAYER = "Marked layers"
    CHANGE = "Changes"


@dataclass(frozen=True, slots=True)
class LegendEntry:
    """Geometry, its paint, and its words in the legend.

    `patterns` are the definitions that its paint needs. A `hidden` entry lies around the picture
    and is only listed.
    """

    section: Section
    geometry: Geometry
    paint: Paint
    words: str
    amount: str = ""
    patterns: tuple[str, ...] = ()
    hidden: bool = False

    @property
    def caption(self) -> str:
        """Words and amount, as viewers show them on hover."""
        return f"{self.words} ({self.amount})" if self.amount else self.words

    def drawn(self, name: str, view: Viewport) -> list[str]:
        """A group with its id and caption; nothing of an empty geometry."""
        if self.geometry.is_empty:
            return []
        return group(name, self.caption, path(view.data(self.geometry), self.paint))

    def swatch(self, x: float, y: float, width: float, height: float) -> list[str]:
        """A sample of the paint: a line for lines, else a rectangle."""
        if self.geometry.geom_type == "MultiLineString":
            return path(f"M{mm(x)} {mm(y + height / 2)} h{mm(width)}", self.paint)
        return path(rectangle(x, y, width, height), self.paint)


def measured_entry(
    section: Section, geometry: Geometry, paint: Paint, words: str, *patterns: str
) -> LegendEntry:
    """An entry with its area, or its length, as amount."""
    is_area = geometry.geom_type == "MultiPolygon"
    amount = square_mm(geometry.area) if is_area else millimetres(geometry.length)
    return LegendEntry(section, geometry, paint, words, amount, patterns)


def square_mm(area: float) -> str:
    """An area in words, three digits or more."""
    decimals = 1 if area >= 9.995 else 2 if area >= 0.1 else 4  # noqa: PLR2004 - digits to show
    return f"{area:.{decimals}f} mm²"


def millimetres(length: float) -> str:
    """A length in words."""
    return f"{length:.1f} mm" if length >= 9.95 else f"{length:.2f} mm"  # noqa: PLR2004 - digits
