"""Geometry of gradients: their stops, and the lines and circles that they follow."""

from __future__ import annotations

from itertools import accumulate
from typing import TYPE_CHECKING

from preprocess.geometry.lines.isolines import LinearIsolines, RadialIsolines
from preprocess.read.clip.clips import bounding_box_matrix
from preprocess.read.paint.gradient_levels import page_contrast
from preprocess.read.scene.painted import GradientPaint, GradientStop, Ink, ink_of
from preprocess.read.style.colours import alpha_value
from preprocess.read.style.element_style import style_at
from preprocess.read.xml.affine import IDENTITY, compose, is_degenerate, parse_transform_list
from preprocess.read.xml.elements import GRADIENTS, template_chain, templated_attributes

if TYPE_CHECKING:
    from collections.abc import Mapping

    from cssselect2 import ElementWrapper

    from preprocess.model.artwork.shape import Matrix
    from preprocess.read.scene.visit import ElementVisit
    from preprocess.read.scene.walker import ElementWalker
    from preprocess.read.style.cascade import Cascade
    from preprocess.read.xml.lengths import Units

_MIDDLE = {"x1": "0%", "y1": "0%", "x2": "100%", "y2": "0%", "cx": "50%", "cy": "50%", "r": "50%"}


def gradient_ink(walker: ElementWalker, gradient: ElementWrapper, user: ElementVisit) -> Ink | None:
    """The paint of a gradient: one colour that stands for it, and its shades if it has any.

    The colour is that of the first stop that is neither transparent nor of the page's colour.
    Nothing is painted without stops, with transparent ones only, or on a flat bounding box.
    """
    scene, context = walker.scene, user.context
    units, page = scene.units(context), scene.drawing.page_colour.lower()
    inks = stop_inks(gradient, scene.by_id, scene.cascade, units)
    seen = [ink for _, ink in inks if ink.alpha > 0]
    if not seen:
        return None
    alpha = max(ink.alpha for ink in seen)
    chosen = next((ink for ink in seen if ink.colour != page), seen[0])
    colours = tuple(dict.fromkeys(ink.colour for ink in seen))
    if len({(ink.colour, ink.alpha) for _, ink in inks}) == 1:
        return chosen
    if context.hidden or context.silhouette:
        return Ink(chosen.colour, alpha, shaded=True)
    space = _space(walker, gradient, user)
    if space is None:
        return None
    course, spread = space
    if course is None:
        return inks[-1][1] if inks[-1][1].alpha > 0 else None
    offsets = accumulate((offset for offset, _ in inks), max)
    stops = tuple(
        GradientStop(offset, page_contrast(ink.colour, page), ink.alpha)
        for offset, (_, ink) in zip(offsets, inks, strict=True)
    )
    return Ink(
        chosen.colour, alpha, shaded=True, shade=GradientPaint(course, spread, stops, colours)
    )


def stop_inks(
    gradient: ElementWrapper,
    by_id: Mapping[str, ElementWrapper],
    cascade: Cascade,
    units: Units,
) -> list[tuple[float, Ink]]:
    """Offset, from 0 to 1, and paint of each stop of a gradient, inherited ones too."""
    return [
        (
            alpha_value(stop.etree_element.attrib.get("offset", "0"), 0.0),
            _stop(stop, cascade, units),
        )
        for stop in _stops(gradient, by_id)
    ]


def _stops(gradient: ElementWrapper, by_id: Mapping[str, ElementWrapper]) -> list[ElementWrapper]:
    for element in template_chain(gradient, by_id, GRADIENTS):
        stops = [child for child in element.iter_children() if child.local_name == "stop"]
        if stops:
            return stops
    return []


def _stop(stop: ElementWrapper, cascade: Cascade, units: Units) -> Ink:
    style = style_at(stop, cascade, units)
    ink = ink_of(style("stop-color"), style) or Ink("#000000")
    return Ink(ink.colour, ink.alpha * alpha_value(style("stop-opacity")))


def _space(
    walker: ElementWalker, gradient: ElementWrapper, user: ElementVisit
) -> tuple[LinearIsolines | RadialIsolines | None, str] | None:
    """The course of a gradient and its spread; the course is None where the last stop fills all.

    None where the gradient has no space to lie in.
    """
    scene, context = walker.scene, user.context
    attributes = templated_attributes(template_chain(gradient, scene.by_id, GRADIENTS))
    units, matrix = scene.units(context), context.matrix
    if attributes.get("gradientUnits") != "userSpaceOnUse":
        inside = bounding_box_matrix(walker, user, context.matrix)
        if inside is None:
            return None
        matrix, units = inside, units.within((1.0, 1.0))
    own = parse_transform_list(
        attributes.get("gradientTransform", "").strip(), scene.units(context)
    )
    matrix = compose(matrix, own or IDENTITY)
    spread = attributes.get("spreadMethod", "pad")
    spread = spread if spread in {"reflect", "repeat"} else "pad"
    if is_degenerate(matrix):
        return None, spread
    if gradient.local_name == "linearGradient":
        return _across(attributes, units, matrix), spread
    return _around(attributes, units, matrix), spread


def _across(attributes: Mapping[str, str], units: Units, matrix: Matrix) -> LinearIsolines | None:
    x1, y1, x2, y2 = (
        units.length(attributes.get(name, _MIDDLE[name]), name[0])
        for name in ("x1", "y1", "x2", "y2")
    )
    return None if (x1, y1) == (x2, y2) else LinearIsolines((x1, y1), (x2, y2), matrix)


def _around(attributes: Mapping[str, str], units: Units, matrix: Matrix) -> RadialIsolines | None:
    cx, cy, radius = (
        units.length(attributes.get(name, _MIDDLE[name]), axis)
        for name, axis in (("cx", "x"), ("cy", "y"), ("r", ""))
    )
    if radius <= 0:
        return None
    fx, fy = (
        units.length(attributes.get(name), name[1], centre)
        for name, centre in (("fx", cx), ("fy", cy))
    )
    first = max(0.0, units.length(attributes.get("fr")))
    return RadialIsolines((cx, cy), radius, (fx, fy), first, matrix)
