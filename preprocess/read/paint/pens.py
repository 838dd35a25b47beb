"""The stroke properties of an element as a pen."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from preprocess.read.scene.painted import StrokeStyle
from preprocess.read.style.properties import dash_parts
from preprocess.read.xml.affine import scaling, stretch

if TYPE_CHECKING:
    from collections.abc import Mapping

    from preprocess.model.artwork.shape import Matrix
    from preprocess.read.style.computed import Style
    from preprocess.read.xml.lengths import Units

_WIDEST = 1e6
"""No stroke is wider than this many mm."""

_JOINS = {"miter-clip": "miter", "arcs": "miter"}


def pen_of(
    style: Style, attributes: Mapping[str, str], units: Units, matrix: Matrix, mm_per_px: float
) -> StrokeStyle | None:
    """The pen of an element; None when it has no width.

    `matrix` maps the element's user units to mm; non-scaling strokes are drawn in px of the page.
    """
    width = units.length(style("stroke-width"), default=1.0)
    fixed = "non-scaling-stroke" in style("vector-effect").split()
    join = style("stroke-linejoin").lower()
    own = scaling(mm_per_px, mm_per_px) if fixed else matrix
    width = min(width, _WIDEST / max(stretch(own), 1e-300))
    if width <= 0:
        return None
    return StrokeStyle(
        width=width,
        cap=style("stroke-linecap").lower(),
        join=_JOINS.get(join, join),
        miter_limit=float(style("stroke-miterlimit")),
        matrix=own,
        dashes=_dashes(style("stroke-dasharray"), units),
        dash_offset=units.length(style("stroke-dashoffset")),
        path_length=_path_length(attributes, units),
    )


def _dashes(text: str, units: Units) -> tuple[float, ...]:
    if text.lower() == "none":
        return ()
    found = tuple(units.length(part) for part in dash_parts(text))
    return found if sum(found) > 0 else ()


def _path_length(attributes: Mapping[str, str], units: Units) -> float | None:
    if "pathLength" not in attributes:
        return None
    value = units.length(attributes["pathLength"], default=-1.0)
    return value if value >= 0 and math.isfinite(value) else None
