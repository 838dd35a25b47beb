"""Masks whose content is pure black and white, as areas in mm."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from preprocess.geometry.base.normalise import NOTHING
from preprocess.geometry.overlay.booleans import difference, union
from preprocess.read.shapes.fill_and_stroke import painted_areas
from preprocess.read.shapes.regions import narrowed, rectangle
from preprocess.read.style.element_style import style_at
from preprocess.read.xml.affine import times

if TYPE_CHECKING:
    from collections.abc import Sequence

    from cssselect2 import ElementWrapper
    from shapely import MultiPolygon

    from preprocess.model.artwork.shape import Matrix
    from preprocess.read.scene.context import RenderContext
    from preprocess.read.scene.painted import PaintedOutline
    from preprocess.read.scene.walker import ElementWalker

_DEFAULT = {"x": "-10%", "y": "-10%", "width": "120%", "height": "120%"}


def mask_area(
    walker: ElementWalker, mask: ElementWrapper, user: tuple[ElementWrapper, RenderContext, str]
) -> MultiPolygon | None:
    """Where a mask lets its user show; None when it has shades and so no edge."""
    scene, (element, context, place) = walker.scene, user
    attributes = mask.etree_element.attrib
    style = style_at(mask, scene.cascade, scene.units(context))
    bounds = walker.bounds(*user)
    if bounds is None:
        return NOTHING
    left, top, right, bottom = bounds
    box: Matrix = (right - left, 0.0, 0.0, bottom - top, left, top)
    by_box = attributes.get("maskContentUnits") == "objectBoundingBox"
    inside = replace(
        context,
        matrix=times(context.matrix, box) if by_box else context.matrix,
        style=style,
        clip=None,
        alpha=1.0,
        quiet=True,
        uses=(*context.uses, mask),
        size=None,
    )
    painted = [one for one in walker.children(mask, inside, "mask") if not one.hidden]
    area = _bright(painted, scene.drawing.tolerance, by_alpha=style("mask-type") == "alpha")
    if area is None:
        scene.say(context, "mask-ignored", context.name_of(element, place), element)
        return None
    units = scene.units(context)
    shares = attributes.get("maskUnits") != "userSpaceOnUse"
    if shares:
        units = replace(units, box=(1.0, 1.0))
    x, y, w, h = (
        units.length(attributes.get(side, _DEFAULT[side]), axis)
        for side, axis in (("x", "x"), ("y", "y"), ("width", "x"), ("height", "y"))
    )
    region = rectangle(
        (x, y, x + w, y + h), times(context.matrix, box) if shares else context.matrix
    )
    return narrowed(area, region)


def _bright(
    painted: Sequence[PaintedOutline], tolerance: float, *, by_alpha: bool
) -> MultiPolygon | None:
    inked = [(one, one.ink) for one in painted if one.ink and one.ink.alpha > 0]
    area = NOTHING
    areas = painted_areas([one for one, _ in inked], tolerance)
    for (_, ink), paint in zip(inked, areas, strict=True):
        if ink.shaded or ink.alpha < 1 or (not by_alpha and ink.colour not in _PURE):
            return None
        if by_alpha or ink.colour == "#ffffff":
            area = union((area, paint))
        else:
            area = difference(area, paint)
    return area


_PURE = frozenset({"#ffffff", "#000000"})
