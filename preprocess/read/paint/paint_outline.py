"""Fill, stroke and markers of an outline in their paint order."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from preprocess.read.paint.gradient_geometry import gradient_ink
from preprocess.read.paint.markers import marker_outlines
from preprocess.read.paint.patterns import NoTiles, pattern_tiles
from preprocess.read.scene.painted import Ink, PaintedOutline, StrokeStyle, ink_of
from preprocess.read.style.colours import alpha_value
from preprocess.read.style.properties import dash_parts, paint_fallback, url_reference
from preprocess.read.xml.affine import largest_stretch, scaling
from preprocess.read.xml.elements import GRADIENTS

if TYPE_CHECKING:
    from collections.abc import Mapping

    from cssselect2 import ElementWrapper

    from preprocess.read.scene.scene import Scene
    from preprocess.read.scene.visit import ElementVisit
    from preprocess.read.scene.walker import ElementWalker
    from preprocess.read.xml.lengths import Units


_ORDER = ("fill", "stroke", "markers")
_WITH_MARKERS = frozenset({"path", "line", "polyline", "polygon"})
_BLACK = Ink("#000000")


def paint_outline(
    walker: ElementWalker, visit: ElementVisit, whole: PaintedOutline
) -> list[PaintedOutline]:
    """An outline with the fill, stroke and markers of its element, in their paint order."""
    scene, context, style = walker.scene, visit.context, visit.style
    if context.silhouette:
        return [replace(whole, rule=style("clip-rule").lower(), ink=_BLACK)]
    pen = None
    if style("stroke") != "none":
        pen = pen_of(visit, scene)
    painted: dict[str, list[PaintedOutline]] = {}
    if visit.tag != "line" and style("fill") != "none":
        painted["fill"] = _inked(walker, visit, whole)
    if pen is not None:
        painted["stroke"] = _inked(walker, visit, replace(whole, pen=pen))
    if visit.tag in _WITH_MARKERS:
        painted["markers"] = list(marker_outlines(walker, visit, whole.path))
    found = [one for part in paint_order(style("paint-order")) for one in painted.get(part, ())]
    # An outline without paint may still be the silhouette of a part.
    return found or [whole]


def paint_order(text: str) -> tuple[str, ...]:
    """Fill, stroke and markers in the order in which they are painted."""
    words = [word for word in text.lower().split() if word in _ORDER]
    return (*words, *(word for word in _ORDER if word not in words))


def _inked(
    walker: ElementWalker, visit: ElementVisit, whole: PaintedOutline
) -> list[PaintedOutline]:
    """A fill or stroke with its ink, the tiles of a pattern in its place, or nothing."""
    style, part = visit.style, "stroke" if whole.pen else "fill"
    value = style(part)
    if value.startswith("context-"):
        value = visit.context.marker_paints[0 if value == "context-fill" else 1]
    server = _server(walker.scene, visit, part, value)
    if server is None:
        ink = ink_of(paint_fallback(value), style)
    elif server.local_name in GRADIENTS:
        ink = gradient_ink(walker, server, visit)
    else:
        found = pattern_tiles(walker, server, visit, whole)
        if isinstance(found, list):
            return found
        ink = ink_of(paint_fallback(value), style)
        if found is NoTiles.TOO_MANY:
            walker.scene.say(visit, "pattern-cap")
            ink = _BLACK
    veil = alpha_value(style(f"{part}-opacity")) * visit.context.alpha
    return [] if ink is None else [replace(whole, ink=ink.veiled(veil))]


def _server(scene: Scene, visit: ElementVisit, part: str, value: str) -> ElementWrapper | None:
    """The gradient or pattern that a paint refers to; remarks on a reference without target."""
    href = url_reference(value)
    if href is None:
        return None
    target = scene.target(href)
    if target is not None and target.local_name in {*GRADIENTS, "pattern"}:
        return target
    scene.say(visit, "broken-reference", f"{part} {href[:60]}")
    return None


_WIDEST = 1e6
"""No stroke is wider than this many mm."""

_JOINS = {"miter-clip": "miter", "arcs": "miter"}


def pen_of(visit: ElementVisit, scene: Scene) -> StrokeStyle | None:
    """The pen of an element; None when it has no width.

    Non-scaling strokes are drawn in px of the page.
    """
    style, units = visit.style, scene.units(visit.context)
    fixed = "non-scaling-stroke" in style("vector-effect").split()
    join = style("stroke-linejoin").lower()
    own = scaling(scene.mm_per_px, scene.mm_per_px) if fixed else visit.context.matrix
    width = units.length(style("stroke-width"), default=1.0)
    width = min(width, _WIDEST / max(largest_stretch(own), 1e-300))
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
        path_length=_path_length(visit.attributes, units),
        most_dashes=scene.limits.dashes,
    )


def _dashes(text: str, units: Units) -> tuple[float, ...]:
    if text.lower() == "none":
        return ()
    found = tuple(max(0.0, units.length(part)) for part in dash_parts(text))
    return found if sum(found) > 0 else ()


def _path_length(attributes: Mapping[str, str], units: Units) -> float | None:
    if "pathLength" not in attributes:
        return None
    value = units.length(attributes["pathLength"], default=-1.0)
    return value if value >= 0 and math.isfinite(value) else None
