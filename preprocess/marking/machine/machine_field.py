"""Position of the machine's field on the page."""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely
from shapely import box

if TYPE_CHECKING:
    from shapely import Polygon

    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.bench.machine import Machine


def field_box(artwork: Artwork, machine: Machine) -> Polygon | None:
    """The field as a rectangle in artwork coordinates (mm), or None where it is not known.

    It is centred on the joint box of the parts, without parts on the page, unless the machine
    says where its upper left corner lies on the page.
    """
    if machine.field is None:
        return None
    width, height = machine.field
    left, top = _corner(artwork, machine.field_origin, width, height)
    return box(left, top, left + width, top + height)


def _corner(
    artwork: Artwork, origin: tuple[float, float] | None, width: float, height: float
) -> tuple[float, float]:
    if origin is not None:
        left, top = artwork.page.counted_from or (artwork.page.left, artwork.page.top)
        return left + origin[0], top + origin[1]
    x, y = centre_of_parts(artwork)
    return x - width / 2, y - height / 2


def centre_of_parts(artwork: Artwork) -> tuple[float, float]:
    """Middle of the joint box of the parts, or of the page where there is no part (mm)."""
    parts = [part for part in artwork.parts if not part.is_empty]
    if not parts:
        return artwork.page.centre
    left, top, right, bottom = shapely.total_bounds(parts)
    return float(left + right) / 2, float(top + bottom) / 2
