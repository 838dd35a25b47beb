"""Clip paths and black-and-white masks as areas in mm."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import shapely

from preprocess.geometry.base.normalise import NOTHING
from preprocess.geometry.overlay.booleans import union
from preprocess.read.clip.clip_shapes import SHAPE, clip_shape
from preprocess.read.clip.masks import mask_area
from preprocess.read.scene.painted import PaintedOutline
from preprocess.read.shapes.fill_and_stroke import contours_of, painted_areas
from preprocess.read.shapes.regions import narrowed
from preprocess.read.style.element_style import style_at
from preprocess.read.style.properties import url_reference
from preprocess.read.xml.affine import IDENTITY, BoundingBox, times, transform_of

if TYPE_CHECKING:
    import re
    from collections.abc import Sequence

    from cssselect2 import ElementWrapper
    from shapely import MultiPolygon

    from preprocess.model.artwork.shape import Matrix
    from preprocess.read.scene.context import RenderContext
    from preprocess.read.scene.walker import ElementWalker
    from preprocess.read.style.computed import Style

_COARSE = 2000
"""A bounding box is measured to this share of the size of what it holds."""


def clipped(
    walker: ElementWalker, element: ElementWrapper, context: RenderContext, place: str
) -> RenderContext:
    """The context of an entered element with its clip path and mask; remarks on its filter."""
    style = context.style
    if style.once(_is_bare):
        return context
    name = context.name_of(element, place)
    if not context.silhouette and style("filter").lower() != "none":
        walker.scene.say(context, "filter-ignored", name, element)
    for tag, area_of in (("clipPath", _clip_area), ("mask", mask_area)):
        text = style("clip-path" if tag == "clipPath" else "mask")
        if text.lower() == "none" or (context.silhouette and tag == "mask"):
            continue
        shape = SHAPE.match(text) if tag == "clipPath" else None
        if shape is not None:
            cut = _shaped(walker, shape, (element, context, place))
            if cut is None:
                walker.scene.say(context, "bad-value", name, element, text[:60])
            else:
                context = replace(context, clip=narrowed(context.clip, cut))
            continue
        href = url_reference(text)
        target = walker.scene.target(href or "")
        barred = _barred(walker, tag, href, target, context)
        if barred or target is None:
            loud = replace(context, quiet=context.quiet and barred != "too-many-copies")
            walker.scene.say(loud, barred, name, element, text[:60])
        else:
            area = area_of(walker, target, (element, context, place))
            if area is not None:
                context = replace(context, clip=narrowed(context.clip, area))
    return context


def _barred(
    walker: ElementWalker,
    tag: str,
    href: str | None,
    target: ElementWrapper | None,
    context: RenderContext,
) -> str:
    """Why a clip or mask cannot be followed, as a kind of remark; empty when it can."""
    if target is None or target.local_name != tag:
        return "bad-value" if href is None else "broken-reference"
    if target in context.uses:
        return "use-cycle"
    return "too-many-copies" if context.silhouette and not walker.scene.may_tile() else ""


def _is_bare(style: Style) -> bool:
    """Whether there is no clip, no mask and no filter."""
    return all(style(name).lower() == "none" for name in ("clip-path", "mask", "filter"))


def _shaped(
    walker: ElementWalker, shape: re.Match[str], user: tuple[ElementWrapper, RenderContext, str]
) -> MultiPolygon | None:
    """The area of a clip that CSS gives as a shape; None when it cannot be read."""
    scene, (element, context, place) = walker.scene, user
    units = scene.units(context)
    box = (0.0, 0.0, *context.box) if shape[3] == "view-box" else walker.bounds(*user)
    if box is None:
        return NOTHING
    if shape[3] in {None, "border-box", "stroke-box"} and context.style("stroke") != "none":
        half = units.length(context.style("stroke-width"), default=1.0) / 2
        box = (box[0] - half, box[1] - half, box[2] + half, box[3] + half)
    found = clip_shape(shape[1], shape[2], box, units)
    if found is None:
        return None
    path, rule = found
    line = element.etree_element.sourceline
    outline = PaintedOutline(place, line, None, frozenset(), path, context.matrix, rule=rule)
    return painted_areas([outline], scene.drawing.tolerance)[0]


def _clip_area(
    walker: ElementWalker, clip: ElementWrapper, user: tuple[ElementWrapper, RenderContext, str]
) -> MultiPolygon | None:
    scene, (element, context, place) = walker.scene, user
    attributes, name = clip.etree_element.attrib, context.name_of(element, place)
    style = style_at(clip, scene.cascade, scene.units(context))
    own = transform_of(style("transform"), scene.units(context)) or IDENTITY
    matrix: Matrix | None = times(context.matrix, own)
    if attributes.get("clipPathUnits") == "objectBoundingBox":
        matrix = boxed(walker, user, times(context.matrix, own))
    if matrix is None:
        return NOTHING
    inside = replace(
        context,
        matrix=matrix,
        style=style,
        clip=None,
        alpha=1.0,
        silhouette=True,
        hidden=False,
        within=name,
        uses=(*context.uses, clip),
        size=None,
    )
    if style("clip-path") != "none":
        inside = clipped(walker, clip, inside, clip.local_name)
    area = _outlines(walker.children(clip, inside, clip.local_name), scene.drawing.tolerance)
    if inside.clip is not None:
        area = narrowed(area, inside.clip)
    if area.is_empty:
        scene.say(context, "clip-without-area", name, element)
    return area


def _outlines(painted: Sequence[PaintedOutline], tolerance: float) -> MultiPolygon:
    return union(painted_areas([one for one in painted if not one.hidden], tolerance))


def boxed(
    walker: ElementWalker, user: tuple[ElementWrapper, RenderContext, str], matrix: Matrix
) -> Matrix | None:
    """The map from shares of the user's bounding box to mm; None when the box is flat."""
    bounds = walker.bounds(*user)
    if bounds is None or bounds[2] <= bounds[0] or bounds[3] <= bounds[1]:
        return None
    left, top, right, bottom = bounds
    return times(matrix, (right - left, 0.0, 0.0, bottom - top, left, top))


def outlines_bounding_box(painted: Sequence[PaintedOutline]) -> BoundingBox | None:
    """The bounding box of outlines, in the units to which their matrices lead."""
    shown = [one for one in painted if one.path.kinds]
    rough = [contour for found in contours_of(shown, 1.0) for contour in found]
    if not rough:
        return None
    size = max(float(shapely.box(*_extent(rough)).length), 1e-9)
    return _extent([c for found in contours_of(shown, size / _COARSE) for c in found])


def _extent(contours: Sequence[object]) -> BoundingBox:
    lines = shapely.multipoints([p for c in contours for p in c.points])  # type: ignore[attr-defined]
    left, top, right, bottom = shapely.bounds(lines)
    return float(left), float(top), float(right), float(bottom)
