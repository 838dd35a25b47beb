"""Silhouettes of parts and keep-off areas: never marked, never knocking out."""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely

from preprocess.errors import Complaint, Place, UserError
from preprocess.geometry.base.normalise import as_area
from preprocess.geometry.overlay.booleans import union
from preprocess.read.artwork.layering import QUOTE_SELECTOR
from preprocess.read.shapes.fill_and_stroke import fill_rule_area, flatten_outlines

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from shapely import MultiPolygon

    from preprocess.model.artwork.artwork import Page
    from preprocess.model.options.reading import ReadingOptions
    from preprocess.read.scene.painted import PaintedOutline

_CLOSE = "choose a closed outline, such as a rectangle or a closed path"


def silhouette_selectors(options: ReadingOptions) -> frozenset[str]:
    """The selectors of parts and keep-off areas."""
    parts = (part.outline for part in options.parts)
    return frozenset(text for text in (*parts, *options.keep_off) if isinstance(text, str))


def silhouette_areas(
    painted: Sequence[PaintedOutline], options: ReadingOptions, page: Page, name: str
) -> tuple[tuple[MultiPolygon, ...], tuple[MultiPolygon, ...]]:
    """The areas of parts and keep-off areas in mm.

    Raises:
        UserError: a selector matches nothing, or nothing with an area.
    """
    tolerance = options.drawing.tolerance
    complaints: list[Complaint] = []

    def chosen(selector: str, what: str) -> MultiPolygon:
        mine = [one for one in painted if selector in one.selectors]
        area = _outline(mine, tolerance)
        if area.is_empty:
            complaints.append(_complaint(selector, what, name, mine))
        return area

    parts = tuple(
        chosen(part.outline, "part")
        if isinstance(part.outline, str)
        else _centred(part.outline, page)
        for part in options.parts
    )
    keep_off = tuple(chosen(selector, "keep_off") for selector in options.keep_off)
    if complaints:
        raise UserError(complaints)
    return parts, keep_off


def _outline(painted: Iterable[PaintedOutline], tolerance: float) -> MultiPolygon:
    """Area enclosed by outlines, whatever their paint."""
    painted = list(painted)
    return union(
        fill_rule_area(one, contours)
        for one, contours in zip(painted, flatten_outlines(painted, tolerance), strict=True)
    )


def _complaint(selector: str, what: str, name: str, found: Sequence[PaintedOutline]) -> Complaint:
    if found:
        place = Place(name, found[0].line)
        return Complaint(f"{what}: {selector!r} encloses no area", _CLOSE, place)
    return Complaint(
        f"{what}: {selector!r} matches nothing in the drawing", QUOTE_SELECTOR, Place(name)
    )


def _centred(size: tuple[float, float], page: Page) -> MultiPolygon:
    (x, y), (width, height) = page.centre, size
    return as_area(shapely.box(x - width / 2, y - height / 2, x + width / 2, y + height / 2))
