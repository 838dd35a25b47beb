"""Embedded pictures: placed in mm and carried through; what is linked is never opened."""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely

from preprocess.model.artwork.picture import Images, Picture
from preprocess.read.paint.rasters import Raster, raster_of
from preprocess.read.scene.painted import Ink, PaintedOutline, painted_outline
from preprocess.read.shapes.compact_shapes import Rectangle
from preprocess.read.shapes.pathdata import Path
from preprocess.read.shapes.regions import rectangle
from preprocess.read.xml.affine import is_flat, times
from preprocess.read.xml.references import href_of
from preprocess.read.xml.viewport import view_map

if TYPE_CHECKING:
    from collections.abc import Iterable

    from cssselect2 import ElementWrapper

    from preprocess.model.artwork.artwork import Page
    from preprocess.read.messages.remarks import Remarks
    from preprocess.read.scene.context import RenderContext
    from preprocess.read.scene.scene import Scene

_Box = tuple[float, float, float, float]

_OVER = 1e-3
"""mm by which a picture may reach beyond what shows of it and still count as whole."""


def pictured(
    scene: Scene, element: ElementWrapper, context: RenderContext, place: str
) -> list[PaintedOutline]:
    """Take an entered image into the scene, or say why not.

    Returns:
        Its outline where only that counts: for the bounding box of a group, and as grey in a mask.
    """
    href, name = href_of(element), context.name_of(element, place)
    raster = raster_of(href)
    box = _box(scene, context, raster)
    if context.quiet:
        return [_outline(element, context, name, box)]
    if not href or context.silhouette or context.hidden:
        return []
    if context.style("visibility").lower() != "visible":
        scene.say(context, "hidden", name, element)
    elif raster is None:
        scene.say(context, "image-left-out", name, element, _why(href))
    elif any(_is_repeated(used) for used in context.uses):
        scene.say(context, "image-left-out", name, element, "in a pattern or marker")
    elif scene.drawing.images is Images.DROP:
        scene.say(context, "image-dropped", name, element)
    else:
        _take(scene, element, context, name, (raster, box))
    return []


def _why(href: str) -> str:
    if href.lower().startswith("data:"):
        return "its data are no PNG, JPEG, GIF or WebP picture"
    return f"linked to {href[:60]!r}; paths that a drawing names are never opened"


def _is_repeated(element: object) -> bool:
    return getattr(element, "local_name", "") in {"pattern", "marker"}


def _take(
    scene: Scene,
    element: ElementWrapper,
    context: RenderContext,
    name: str,
    what: tuple[Raster, _Box],
) -> None:
    raster, (x, y, width, height) = what
    ratio = element.etree_element.attrib.get("preserveAspectRatio", "")
    w, h = raster.pixels
    sx, _, _, sy, left, top = view_map((0.0, 0.0, w, h), ratio, width, height)
    shown = times(context.matrix, (sx * w, 0.0, 0.0, sy * h, x + left, y + top))
    if is_flat(shown):
        scene.say(context, "flat-shape", name, element)
        return
    a, b, c, d, e, f = (round(value, 9) for value in shown)
    picture = Picture(
        id=name,
        matrix=(a, b, c, d, e, f),
        media=raster.media,
        pixels=raster.pixels,
        data=raster.data,
        line=element.etree_element.sourceline,
        label=context.label or context.group,
    )
    scene.pictures.append(picture)
    scene.say(context, "image-kept", name, element, f"{w} x {h} pixels")
    whole = shapely.Polygon(picture.corners)
    window = rectangle((x, y, x + width, y + height), context.matrix)
    bounds = [window, *([context.clip] if context.clip is not None else [])]
    if any(not shapely.covers(shapely.buffer(area, _OVER), whole) for area in bounds):
        scene.say(context, "image-uncropped", name, element)
    if context.alpha < 1:
        scene.say(context, "image-opaque", name, element, f"drawn with {context.alpha:.0%} opacity")


def _box(scene: Scene, context: RenderContext, raster: Raster | None) -> _Box:
    """Its box in user units; a missing side comes from the size in pixels."""
    units, style = scene.units(context), context.style
    x, y = units.length(style("x"), "x"), units.length(style("y"), "y")
    w, h = raster.pixels if raster else (0, 0)
    width, height = (
        None if style(side).lower() == "auto" else units.length(style(side), axis)
        for side, axis in (("width", "x"), ("height", "y"))
    )
    if width is None and height is None:
        return x, y, float(w), float(h)
    if width is None:
        return x, y, (height or 0.0) * w / max(h, 1), height or 0.0
    return x, y, width, width * h / max(w, 1) if height is None else height


def _outline(
    element: ElementWrapper, context: RenderContext, name: str, box: _Box
) -> PaintedOutline:
    x, y, width, height = box
    sound = width > 0 and height > 0
    path = Rectangle(x, y, x + width, y + height) if sound else Path()
    return painted_outline(element, context, name, path, Ink("#808080", shaded=True))


def off_page(pictures: Iterable[Picture], page: Page, remarks: Remarks) -> None:
    """Remark on pictures that reach beyond the page."""
    for picture in pictures:
        xs, ys = zip(*picture.corners, strict=True)
        over = max(-min(xs), -min(ys), max(xs) - page.width, max(ys) - page.height)
        if over > _OVER:
            remarks.add(
                "image-uncropped",
                picture.id,
                picture.line,
                "reaches beyond the page",
                picture.label,
            )
