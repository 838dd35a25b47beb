"""Fill, stroke and markers of an outline in their paint order."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from preprocess.read.paint.gradient_geometry import gradient_ink
from preprocess.read.paint.markers import markers
from preprocess.read.paint.paints import GRADIENTS, MissingPaint, PaintServer, paint_of
from preprocess.read.paint.patterns import tiles
from preprocess.read.paint.pens import pen_of
from preprocess.read.scene.painted import Ink, PaintedOutline
from preprocess.read.style.colours import alpha_value

if TYPE_CHECKING:
    from cssselect2 import ElementWrapper

    from preprocess.read.scene.context import RenderContext
    from preprocess.read.scene.walker import ElementWalker

_ORDER = ("fill", "stroke", "markers")
_WITH_MARKERS = frozenset({"path", "line", "polyline", "polygon"})
_BLACK = Ink("#000000")


def paint_outline(
    walker: ElementWalker, element: ElementWrapper, context: RenderContext, whole: PaintedOutline
) -> list[PaintedOutline]:
    """An outline with the fill, stroke and markers of its element, in their paint order."""
    scene, style = walker.scene, context.style
    if context.silhouette:
        return [replace(whole, rule=style("clip-rule").lower(), ink=_BLACK)]
    pen = None
    if style("stroke") != "none":
        attributes, units = element.etree_element.attrib, scene.units(context)
        pen = pen_of(style, attributes, units, context.matrix, scene.mm_per_px)
        pen = pen and replace(pen, most_dashes=scene.limits.dashes)
    pieces: dict[str, list[PaintedOutline]] = {}
    if element.local_name != "line" and style("fill") != "none":
        pieces["fill"] = _inked(walker, element, context, whole)
    if pen is not None:
        pieces["stroke"] = _inked(walker, element, context, replace(whole, pen=pen))
    if element.local_name in _WITH_MARKERS:
        pieces["markers"] = list(markers(walker, element, context, whole))
    found = [one for what in paint_order(style("paint-order")) for one in pieces.get(what, ())]
    # An outline without paint may still be the silhouette of a part.
    return [*found] or [whole]


def paint_order(text: str) -> tuple[str, ...]:
    """Fill, stroke and markers in the order in which they are painted."""
    words = [word for word in text.lower().split() if word in _ORDER]
    return (*words, *(word for word in _ORDER if word not in words))


def _inked(
    walker: ElementWalker, element: ElementWrapper, context: RenderContext, whole: PaintedOutline
) -> list[PaintedOutline]:
    """A fill or stroke with its ink, the tiles of a pattern in its place, or nothing."""
    scene, style = walker.scene, context.style
    what = "stroke" if whole.pen else "fill"
    paint = _paint(walker, element, context, whole, what)
    if isinstance(paint, PaintServer):
        found = tiles(walker, paint.element, (element, context, whole))
        if found is not None:
            return found
        scene.say(context, "pattern-cap", whole.name, element)
        paint = _BLACK
    if paint is None:
        return []
    veil = alpha_value(style(f"{what}-opacity")) * context.alpha
    return [replace(whole, ink=paint.veiled(veil))]


def _paint(
    walker: ElementWalker,
    element: ElementWrapper,
    context: RenderContext,
    whole: PaintedOutline,
    what: str,
) -> Ink | PaintServer | None:
    """The paint of a fill or stroke with gradients and missing paints worked out."""
    scene, style = walker.scene, context.style
    value = style(what)
    if value.startswith("context-"):
        value = context.marker_paints[0 if value == "context-fill" else 1]
    paint = paint_of(value, style, scene.by_id)
    if isinstance(paint, MissingPaint):
        scene.say(context, "broken-reference", whole.name, element, f"{what} {paint.href[:60]}")
        return paint.fallback
    if isinstance(paint, PaintServer) and paint.element.local_name in GRADIENTS:
        return gradient_ink(walker, paint.element, (element, context, ""))
    return paint
