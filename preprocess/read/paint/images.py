"""Embedded images: placed in mm, carried through or marked; linked files are never opened."""

from __future__ import annotations

import base64
from typing import TYPE_CHECKING

import shapely

from preprocess.loading.png.grey_png import NotGrey, decode_greys
from preprocess.model.artwork.picture import Images, Picture
from preprocess.read.messages.remarks import Remark, Remarks
from preprocess.read.paint.rasters import Raster, embedded_raster
from preprocess.read.scene.painted import Ink, PaintedOutline
from preprocess.read.shapes.compact_shapes import Rectangle
from preprocess.read.shapes.path_data import Path
from preprocess.read.shapes.regions import mapped_rectangle
from preprocess.read.xml.affine import compose, is_degenerate
from preprocess.read.xml.elements import href_of
from preprocess.read.xml.viewport import view_map

if TYPE_CHECKING:
    from collections.abc import Iterable

    from preprocess.loading.png.grey_png import DecodedGreys
    from preprocess.model.artwork.artwork import Page
    from preprocess.model.artwork.shape import Matrix
    from preprocess.read.scene.scene import Scene
    from preprocess.read.scene.visit import ElementVisit
    from preprocess.read.style.computed import Style
    from preprocess.read.xml.lengths import Units

_Box = tuple[float, float, float, float]

_OVER = 1e-3
"""mm by which a picture may reach beyond what shows of it and still count as whole."""


def image_outlines(scene: Scene, visit: ElementVisit) -> list[PaintedOutline]:
    """Take an entered image into the scene, or remark why not.

    Returns:
        Its outline where only that counts: for the bounding box of a group, and as grey in a mask.
    """
    context, href = visit.context, href_of(visit.element)
    raster = embedded_raster(href)
    box = _box(scene.units(context), visit.style, raster)
    if context.quiet:
        return [_outline(visit, box)]
    if not href or context.silhouette or context.hidden:
        return []
    if visit.style("visibility").lower() != "visible":
        scene.say(visit, "hidden")
    elif raster is None:
        scene.say(visit, "image-left-out", _why(href))
    elif any(_is_repeated(used) for used in context.uses):
        scene.say(visit, "image-left-out", "in a pattern or marker")
    elif scene.drawing.images is Images.DROP:
        scene.say(visit, "image-dropped")
    elif (decoded := _greys(scene, visit, raster)) is not None:
        return _marked(scene, visit, (raster, decoded), box)
    else:
        _take(scene, visit, raster, box)
    return []


def _greys(scene: Scene, visit: ElementVisit, raster: Raster) -> DecodedGreys | None:
    """The greys of a picture that is to be marked by them; None where it is to be kept."""
    if scene.drawing.images is not Images.GREY:
        return None
    try:
        return decode_greys(base64.b64decode(raster.data))
    except NotGrey as error:
        scene.say(visit, "image-not-grey", str(error))
        return None


def _marked(
    scene: Scene, visit: ElementVisit, greys: tuple[Raster, DecodedGreys], box: _Box
) -> list[PaintedOutline]:
    """The outline of a picture that is marked; its greys follow where shapes are made."""
    raster, decoded = greys
    shown = _shown(visit, raster, box)
    if is_degenerate(shown):
        scene.say(visit, "flat-shape")
        return []
    scene.greys[visit.name] = decoded, shown
    x, y, width, height = box
    return [visit.outline(Rectangle(x, y, x + width, y + height), Ink("#000000"))]


def _shown(visit: ElementVisit, raster: Raster, box: _Box) -> Matrix:
    """The map from the unit square to where a picture is shown, mm."""
    x, y, width, height = box
    w, h = raster.pixels
    ratio = visit.attributes.get("preserveAspectRatio", "")
    sx, _, _, sy, left, top = view_map((0.0, 0.0, w, h), ratio, width, height)
    shown = compose(visit.context.matrix, (sx * w, 0.0, 0.0, sy * h, x + left, y + top))
    a, b, c, d, e, f = (round(value, 9) for value in shown)
    return a, b, c, d, e, f


def _why(href: str) -> str:
    if href.lower().startswith("data:"):
        return "its data are no PNG, JPEG, GIF or WebP picture"
    return f"linked to {href[:60]!r}; paths that a drawing names are never opened"


def _is_repeated(element: object) -> bool:
    return getattr(element, "local_name", "") in {"pattern", "marker"}


def _take(scene: Scene, visit: ElementVisit, raster: Raster, box: _Box) -> None:
    context, (x, y, width, height) = visit.context, box
    w, h = raster.pixels
    shown = _shown(visit, raster, box)
    if is_degenerate(shown):
        scene.say(visit, "flat-shape")
        return
    picture = Picture(
        id=visit.name,
        matrix=shown,
        media=raster.media,
        pixels=raster.pixels,
        data=raster.data,
        line=visit.line,
        label=visit.label,
        around=visit.context.enclosing.names[:-1],
    )
    scene.pictures.append(picture)
    scene.say(visit, "image-kept", f"{w} x {h} pixels")
    whole = shapely.Polygon(picture.corners)
    window = mapped_rectangle((x, y, x + width, y + height), context.matrix)
    bounds = [window, *([context.clip] if context.clip is not None else [])]
    if any(not shapely.covers(shapely.buffer(area, _OVER), whole) for area in bounds):
        scene.say(visit, "image-uncropped")
    if context.blend is not None:
        scene.say(visit, "blend-ignored", context.blend.mode)
    if context.alpha < 1:
        scene.say(visit, "image-opaque", f"drawn with {context.alpha:.0%} opacity")


def _box(units: Units, style: Style, raster: Raster | None) -> _Box:
    """Its box in user units; a missing side comes from the size in pixels."""
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


def _outline(visit: ElementVisit, box: _Box) -> PaintedOutline:
    x, y, width, height = box
    sound = width > 0 and height > 0
    path = Rectangle(x, y, x + width, y + height) if sound else Path()
    return visit.outline(path, Ink("#808080", shaded=True))


def remark_pictures_beyond_page(pictures: Iterable[Picture], page: Page, remarks: Remarks) -> None:
    """Remark on pictures that reach beyond the page."""
    for picture in pictures:
        xs, ys = zip(*picture.corners, strict=True)
        over = max(-min(xs), -min(ys), max(xs) - page.width, max(ys) - page.height)
        if over > _OVER:
            found = ("image-uncropped", picture.id, picture.line, "reaches beyond the page")
            remarks.add(Remark(*found, picture.label))
