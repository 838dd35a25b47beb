"""Markers as geometry. Source: SVG 2, section 13.7, and SVG 1.1, section 11.6."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from preprocess.read.shapes.regions import narrowed, rectangle
from preprocess.read.shapes.vertices import Vertex, vertices
from preprocess.read.style.element_style import style_at
from preprocess.read.style.properties import url_reference
from preprocess.read.xml.affine import scaling, times, translation
from preprocess.read.xml.lengths import split_length
from preprocess.read.xml.viewport import view_box, view_map

if TYPE_CHECKING:
    from collections.abc import Iterator

    from cssselect2 import ElementWrapper

    from preprocess.model.artwork.shape import Matrix
    from preprocess.read.scene.context import RenderContext
    from preprocess.read.scene.painted import PaintedOutline
    from preprocess.read.scene.walker import ElementWalker

_DEGREES = {"deg": 1.0, "": 1.0, "rad": 180 / math.pi, "grad": 0.9, "turn": 360.0}


def markers(
    walker: ElementWalker, element: ElementWrapper, context: RenderContext, whole: PaintedOutline
) -> Iterator[PaintedOutline]:
    """What the markers of a path paint, in the order of its vertices."""
    style = context.style
    found = {where: _marker(walker, element, context, whole, where) for where in _WHERE}
    if not any(found.values()) or context.hidden:
        return
    points = vertices(whole.path)
    width = walker.scene.units(context).length(style("stroke-width"), default=1.0)
    for at, vertex in enumerate(points):
        where = ["mid"]
        if at == 0:
            where = ["start"]
        if at == len(points) - 1:
            where = [*(w for w in where if w == "start"), "end"]
        for one in where:
            marker = found[one]
            if marker is not None and walker.scene.may_copy():
                yield from _drawn(walker, marker, context, whole, (vertex, one == "start", width))


_WHERE = ("start", "mid", "end")


def _marker(
    walker: ElementWalker,
    element: ElementWrapper,
    context: RenderContext,
    whole: PaintedOutline,
    where: str,
) -> ElementWrapper | None:
    href = url_reference(context.style(f"marker-{where}"))
    if href is None:
        return None
    target = walker.scene.target(href)
    if target is None or target.local_name != "marker":
        walker.scene.say(context, "broken-reference", whole.name, element, f"marker {href[:60]}")
        return None
    return None if target in context.uses else target


def _drawn(
    walker: ElementWalker,
    marker: ElementWrapper,
    context: RenderContext,
    whole: PaintedOutline,
    at: tuple[Vertex, bool, float],
) -> list[PaintedOutline]:
    scene, attributes = walker.scene, marker.etree_element.attrib
    vertex, is_start, stroke_width = at
    units, style = scene.units(context), style_at(marker, scene.cascade, scene.units(context))
    width = units.length(attributes.get("markerWidth"), "x", 3.0)
    height = units.length(attributes.get("markerHeight"), "y", 3.0)
    box = view_box(attributes.get("viewBox"))
    if width <= 0 or height <= 0 or (box and min(box[2:]) <= 0):
        return []
    scale = 1.0 if attributes.get("markerUnits") == "userSpaceOnUse" else stroke_width
    view = view_map(box, attributes.get("preserveAspectRatio", ""), width, height)
    inner = times(context.matrix, translation(vertex.x, vertex.y))
    inner = times(inner, _turned(attributes.get("orient", "0"), vertex, is_start=is_start))
    inner = times(inner, scaling(scale, scale))
    x, y = (_reference_point(attributes, side, box) for side in ("refX", "refY"))
    inner = times(inner, _linear(view, x, y))
    clip = context.clip
    if style("overflow").lower() not in {"visible", "auto"}:
        left, top, w, h = box or (0.0, 0.0, width, height)
        clip = narrowed(clip, rectangle((left, top, left + w, top + h), inner))
    inside = replace(
        context,
        matrix=inner,
        style=style,
        box=box[2:] if box else (width, height),
        clip=clip,
        marker_paints=(context.style("fill"), context.style("stroke")),
        uses=(*context.uses, marker),
        within=whole.name,
        size=None,
    )
    return walker.children(marker, inside, "marker")


def _linear(view: Matrix, x: float, y: float) -> Matrix:
    """The view's scale, with the reference point at the vertex."""
    a, b, c, d, _, _ = view
    return times((a, b, c, d, 0.0, 0.0), translation(-x, -y))


def _reference_point(
    attributes: dict[str, str], side: str, box: tuple[float, float, float, float] | None
) -> float:
    text = attributes.get(side, "0")
    corner = box or (0.0, 0.0, 0.0, 0.0)
    start, length = corner[0::2] if side == "refX" else corner[1::2]
    words = {"left": 0.0, "top": 0.0, "center": 0.5, "right": 1.0, "bottom": 1.0}
    if text in words:
        return start + words[text] * length
    split = split_length(text)
    if split is None:
        return 0.0
    return split[0] / 100 * length if split[1] == "%" else split[0]


def _turned(orient: str, vertex: Vertex, *, is_start: bool) -> Matrix:
    text = orient.strip()
    if text in {"auto", "auto-start-reverse"}:
        angle = vertex.angle + (math.pi if is_start and text != "auto" else 0.0)
    else:
        split = split_length(text)
        factor = _DEGREES.get(split[1]) if split else None
        angle = math.radians(split[0] * factor) if split and factor is not None else 0.0
    cos, sin = math.cos(angle), math.sin(angle)
    return (cos, sin, -sin, cos, 0.0, 0.0)
