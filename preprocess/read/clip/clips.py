"""Clip paths and masks of pure black and white, as areas in mm."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import shapely

from preprocess.geometry.base.normalise import NOTHING
from preprocess.geometry.overlay.booleans import union
from preprocess.geometry.overlay.topmost import topmost_white
from preprocess.read.clip.clip_shapes import CSS_SHAPE, css_shape_outline
from preprocess.read.scene.visit import ElementVisit
from preprocess.read.shapes.fill_and_stroke import flatten_outlines, painted_areas
from preprocess.read.shapes.regions import intersect_clip, mapped_rectangle
from preprocess.read.style.element_style import style_at
from preprocess.read.style.properties import url_reference
from preprocess.read.xml.affine import IDENTITY, BoundingBox, compose, parse_transform_list

if TYPE_CHECKING:
    import re
    from collections.abc import Sequence

    from cssselect2 import ElementWrapper
    from shapely import MultiPolygon

    from preprocess.model.artwork.shape import Matrix
    from preprocess.read.scene.painted import PaintedOutline
    from preprocess.read.scene.walker import ElementWalker
    from preprocess.read.style.computed import Style

_MASK_REGION = {"x": "-10%", "y": "-10%", "width": "120%", "height": "120%"}
_BLACK_AND_WHITE = frozenset({"#ffffff", "#000000"})
_COARSE = 2000
"""A bounding box is measured to this share of the size of what it holds."""


def apply_clips(walker: ElementWalker, visit: ElementVisit) -> ElementVisit:
    """An entered element with its clip path and mask; remarks on its filter."""
    style, scene = visit.style, walker.scene
    if style.once(_is_bare):
        return visit
    silhouette = visit.context.silhouette
    if not silhouette and style("filter").lower() != "none":
        scene.say(visit, "filter-ignored")
    for tag, text in (("clipPath", style("clip-path")), ("mask", style("mask"))):
        if text.lower() == "none" or (silhouette and tag == "mask"):
            continue
        area = _area(walker, visit, tag, text)
        if area is not None:
            visit = visit.inside(clip=intersect_clip(visit.context.clip, area))
    return visit


def _is_bare(style: Style) -> bool:
    """True if there is no clip, no mask and no filter."""
    return all(style(name).lower() == "none" for name in ("clip-path", "mask", "filter"))


def _area(walker: ElementWalker, visit: ElementVisit, tag: str, text: str) -> MultiPolygon | None:
    """The area of a clip or mask; None with a remark where it cannot be followed."""
    scene, context = walker.scene, visit.context
    shape = CSS_SHAPE.match(text) if tag == "clipPath" else None
    if shape is not None:
        area = _shaped(walker, shape, visit)
        if area is None:
            scene.say(visit, "bad-value", text[:60])
        return area
    href = url_reference(text)
    target = scene.target(href or "")
    if target is None or target.local_name != tag:
        scene.say(visit, "bad-value" if href is None else "broken-reference", text[:60])
    elif target in context.uses:
        scene.say(visit, "use-cycle", text[:60])
    elif context.silhouette and not scene.may_tile():
        scene.say(visit.inside(quiet=False), "too-many-copies", text[:60])
    else:
        return (_clip_area if tag == "clipPath" else _mask_area)(walker, target, visit)
    return None


def _shaped(walker: ElementWalker, shape: re.Match[str], user: ElementVisit) -> MultiPolygon | None:
    """The area of a clip that CSS gives as a shape; None when it cannot be read."""
    scene, context = walker.scene, user.context
    units = scene.units(context)
    box = (0.0, 0.0, *context.box) if shape[3] == "view-box" else walker.bounds(user)
    if box is None:
        return NOTHING
    if shape[3] in {None, "border-box", "stroke-box"} and user.style("stroke") != "none":
        half = units.length(user.style("stroke-width"), default=1.0) / 2
        box = (box[0] - half, box[1] - half, box[2] + half, box[3] + half)
    found = css_shape_outline(shape[1], shape[2], box, units)
    if found is None:
        return None
    path, rule = found
    whole = replace(user.outline(path, rule=rule), clip=None)
    return painted_areas([whole], scene.drawing.tolerance)[0]


def _clip_area(
    walker: ElementWalker, clip: ElementWrapper, user: ElementVisit
) -> MultiPolygon | None:
    scene, context = walker.scene, user.context
    style = style_at(clip, scene.cascade, scene.units(context))
    own = parse_transform_list(style("transform"), scene.units(context)) or IDENTITY
    matrix: Matrix | None = compose(context.matrix, own)
    if clip.etree_element.attrib.get("clipPathUnits") == "objectBoundingBox":
        matrix = bounding_box_matrix(walker, user, compose(context.matrix, own))
    if matrix is None:
        return NOTHING
    inside = context.entering(
        clip,
        matrix=matrix,
        style=style,
        clip=None,
        alpha=1.0,
        silhouette=True,
        hidden=False,
        within=user.name,
    )
    visit = ElementVisit(clip, inside, clip.local_name)
    if style("clip-path") != "none":
        visit = apply_clips(walker, visit)
    shown = [one for one in walker.run(visit.children()) if not one.hidden]
    area = union(painted_areas(shown, scene.drawing.tolerance))
    if visit.context.clip is not None:
        area = intersect_clip(area, visit.context.clip)
    if area.is_empty:
        scene.say(user, "clip-without-area")
    return area


def bounding_box_matrix(walker: ElementWalker, user: ElementVisit, matrix: Matrix) -> Matrix | None:
    """The map from shares of the user's bounding box to mm; None when the box is flat."""
    bounds = walker.bounds(user)
    if bounds is None or bounds[2] <= bounds[0] or bounds[3] <= bounds[1]:
        return None
    left, top, right, bottom = bounds
    return compose(matrix, (right - left, 0.0, 0.0, bottom - top, left, top))


def _mask_area(
    walker: ElementWalker, mask: ElementWrapper, user: ElementVisit
) -> MultiPolygon | None:
    """Area where a mask shows its user; None with a remark for a mask with grey shades."""
    scene, context, attributes = walker.scene, user.context, mask.etree_element.attrib
    units = scene.units(context)
    style, bounds = style_at(mask, scene.cascade, units), walker.bounds(user)
    if bounds is None:
        return NOTHING
    left, top, right, bottom = bounds
    by_box = compose(context.matrix, (right - left, 0.0, 0.0, bottom - top, left, top))
    shares = attributes.get("maskContentUnits") == "objectBoundingBox"
    matrix = by_box if shares else context.matrix
    inside = context.entering(
        mask, matrix=matrix, style=style, clip=None, alpha=1.0, blend=None, quiet=True
    )
    painted = walker.run(ElementVisit(mask, inside, "mask").children())
    shown = [one for one in painted if not one.hidden]
    by_alpha = style("mask-type") == "alpha"
    area = _bright(shown, scene.drawing.tolerance, by_alpha=by_alpha)
    if area is None:
        scene.say(user, "mask-ignored")
        return None
    for one in () if by_alpha or context.quiet else shown:
        if one.blend is not None:
            scene.remarks.on("blend-ignored", one, f"{one.blend.mode}, in a mask")
    matrix = context.matrix
    if attributes.get("maskUnits") != "userSpaceOnUse":
        matrix, units = by_box, units.within((1.0, 1.0))
    x, y, w, h = units.box_of(attributes, _MASK_REGION)
    return intersect_clip(area, mapped_rectangle((x, y, x + w, y + h), matrix))


def _bright(
    painted: Sequence[PaintedOutline], tolerance: float, *, by_alpha: bool
) -> MultiPolygon | None:
    inked = [(one, one.ink) for one in painted if one.ink and one.ink.alpha > 0]
    for _, ink in inked:
        if ink.shaded or ink.alpha < 1 or (not by_alpha and ink.colour not in _BLACK_AND_WHITE):
            return None
    areas = painted_areas([one for one, _ in inked], tolerance)
    white = [by_alpha or ink.colour == "#ffffff" for _, ink in inked]
    return topmost_white(areas, white)


def outlines_bounding_box(painted: Sequence[PaintedOutline]) -> BoundingBox | None:
    """The bounding box of outlines, in the units to which their matrices lead."""
    shown = [one for one in painted if one.path.kinds]
    rough = [contour for found in flatten_outlines(shown, 1.0) for contour in found]
    if not rough:
        return None
    size = max(float(shapely.box(*_extent(rough)).length), 1e-9)
    return _extent([c for found in flatten_outlines(shown, size / _COARSE) for c in found])


def _extent(contours: Sequence[object]) -> BoundingBox:
    lines = shapely.multipoints([p for c in contours for p in c.points])  # type: ignore[attr-defined]
    left, top, right, bottom = shapely.bounds(lines)
    return float(left), float(top), float(right), float(bottom)
