"""Viewports: viewBox, preserveAspectRatio, and the physical size of the page.

Sources: SVG 2, sections 8.2 to 8.7 and 8.12 ("intrinsic sizing properties").
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from preprocess.read.xml.affine import IDENTITY
from preprocess.read.xml.calc import calculated, is_calculated
from preprocess.read.xml.lengths import Units, parse_number_list, split_length
from preprocess.units import digits

if TYPE_CHECKING:
    from preprocess.model.artwork.shape import Matrix

ViewBox = tuple[float, float, float, float]
MM_PER_INCH = 25.4
_OTHERS = (72.0, 90.0, 96.0)
"""Values of "px per inch" in drawing programs."""

_RELATIVE = frozenset({"%", "vw", "vh", "vmin", "vmax"})
_PAPERS = {
    "A3": (297.0, 420.0),
    "A4": (210.0, 297.0),
    "A5": (148.0, 210.0),
    "A6": (105.0, 148.0),
    "Letter": (215.9, 279.4),
}
_ALIKE = 0.5

_ALIGN = {"min": 0.0, "mid": 0.5, "max": 1.0}


@dataclass(frozen=True, slots=True)
class PageSize:
    """The size of the outermost viewport in px.

    `source` says in words where it came from; `sure` is False when the scale had to be assumed,
    `pixels` True when it hangs on how many px make an inch.
    """

    width: float
    height: float
    source: str
    sure: bool
    pixels: bool


PageSizeAt = Callable[[float], "PageSize | None"]


def view_box(text: str | None) -> ViewBox | None:
    """The four numbers of a viewBox; None when there is none, or none that can be used."""
    values = parse_number_list(text) if text else None
    if values is None or len(values) != 4 or min(values[2:]) < 0:  # noqa: PLR2004
        return None
    x, y, width, height = values
    return (x, y, width, height) if all(map(math.isfinite, values)) else None


def view_map(box: ViewBox | None, ratio: str, width: float, height: float) -> Matrix:
    """The map from the user units inside a viewport of that size to those around it."""
    if box is None:
        return IDENTITY
    words = [word for word in ratio.split() if word != "defer"] or ["xMidYMid"]
    sx, sy = width / box[2], height / box[3]
    if words[0] == "none":
        return (sx, 0.0, 0.0, sy, -box[0] * sx, -box[1] * sy)
    scale = max(sx, sy) if words[-1] == "slice" else min(sx, sy)
    ax, ay = _ALIGN.get(words[0][1:4].lower(), 0.5), _ALIGN.get(words[0][5:8].lower(), 0.5)
    left = (width - box[2] * scale) * ax - box[0] * scale
    top = (height - box[3] * scale) * ay - box[1] * scale
    return (scale, 0.0, 0.0, scale, left, top)


def page_size(width: str, height: str, box: ViewBox | None, units: Units) -> PageSize | None:
    """The physical size; None for a drawing without width, height and viewBox."""
    w, h = _absolute(width, units), _absolute(height, units)
    pixels = any(_hangs_on_px(text) for text, side in ((width, w), (height, h)) if side is not None)
    if w is not None and h is not None:
        return PageSize(w, h, "width and height of the drawing", _is_sure(width, height), pixels)
    if box is None or min(box[2:]) <= 0:
        if w is None and h is None:
            return None
        side = w if w is not None else h
        words = "one side of the drawing; the other is missing and taken as equal"
        return PageSize(side or 0.0, side or 0.0, words, sure=False, pixels=pixels)
    if w is not None:
        words = "width of the drawing, with the height from the ratio of its viewBox"
        return PageSize(w, w * box[3] / box[2], words, _is_sure(width), pixels)
    if h is not None:
        words = "height of the drawing, with the width from the ratio of its viewBox"
        return PageSize(h * box[2] / box[3], h, words, _is_sure(height), pixels)
    words = f"viewBox of the drawing at {digits(units.px_per_inch)} px per inch"
    return PageSize(box[2], box[3], words, sure=False, pixels=True)


def _absolute(text: str, units: Units) -> float | None:
    def of(number: float, unit: str) -> float | None:
        return None if unit in _RELATIVE else units.of(number, unit)

    if is_calculated(text):
        found = calculated(text, of)
        return found and found.value
    split = split_length(text)
    value = of(*split) if split else None
    return value if value is not None and math.isfinite(value) else None


def _unit(text: str) -> str:
    split = split_length(text)
    return split[1] if split else ""


def _hangs_on_px(text: str) -> bool:
    return _unit(text) in {"", "px", "em", "ex", "rem", "ch"}


def _is_sure(*texts: str) -> bool:
    return not any(_unit(text) in {"em", "ex", "rem", "ch"} for text in texts)


def other_page_sizes(size: PageSize, px_per_inch: float, at: PageSizeAt) -> str:
    """The page in mm for every other common meaning of px, as words for a message.

    `at` gives the size for a number of px per inch, None where all of it is px.
    """
    others = (other for other in _OTHERS if other != px_per_inch)
    return ", ".join(f"{page_size_text(at(px) or size, px)} at {digits(px)}" for px in others)


def page_size_text(size: PageSize, px_per_inch: float) -> str:
    """A size in words, with the name of the paper that has it."""
    width, height = size.width * MM_PER_INCH / px_per_inch, size.height * MM_PER_INCH / px_per_inch
    sides = sorted((width, height))
    paper = next((n for n, s in _PAPERS.items() if math.dist(s, sides) < _ALIKE), None)
    return f"{width:.2f} x {height:.2f} mm" + (f" ({paper})" if paper else "")
