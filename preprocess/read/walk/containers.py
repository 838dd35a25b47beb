"""Elements that hold others: groups, switch, use, and viewports within the drawing."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from preprocess.read.paint.images import pictured
from preprocess.read.shapes.regions import narrowed, rectangle
from preprocess.read.xml.affine import times, translation
from preprocess.read.xml.elements import NEVER_RENDERED, is_svg, passes_conditions
from preprocess.read.xml.names import placed_children
from preprocess.read.xml.references import href_of
from preprocess.read.xml.viewport import view_box, view_map

if TYPE_CHECKING:
    from cssselect2 import ElementWrapper

    from preprocess.read.scene.context import RenderContext
    from preprocess.read.scene.scene import Scene
    from preprocess.read.scene.walker import WalkItem


_PLAIN = frozenset({"g", "a"})
_LEFT_OUT = {
    "foreignObject": "foreign-content-left-out",
}


def is_drawn(scene: Scene, element: ElementWrapper, context: RenderContext, name: str) -> bool:
    """Whether an element takes part in the picture where it stands; says so when it might have."""
    if not is_svg(element, scene.document.namespace):
        return False
    if element.local_name in NEVER_RENDERED and not _is_used(element, context):
        return False
    if passes_conditions(element):
        return True
    scene.say(context, "not-for-this-reader", name, element)
    return False


def expanded(
    scene: Scene, element: ElementWrapper, context: RenderContext, place: str
) -> list[WalkItem]:
    """The tasks inside a container that has been entered."""
    tag = element.local_name
    if tag in _PLAIN:
        return [(child, context, where) for child, where in placed_children(element, place)]
    if tag == "use":
        return _use(scene, element, context, place)
    if tag in {"svg", "symbol"}:
        return _viewport(scene, element, context, place)
    if tag == "switch":
        return _switch(scene, element, context, place)
    if tag == "image":
        return [*pictured(scene, element, context, place)]
    if tag not in _LEFT_OUT:
        scene.say(context, "unknown-element", context.name_of(element, place), element, f"<{tag}>")
    else:
        scene.say(context, _LEFT_OUT[tag], context.name_of(element, place), element)
    return []


def _is_used(element: ElementWrapper, context: RenderContext) -> bool:
    """Whether a symbol is being drawn through a use."""
    is_symbol = element.local_name == "symbol"
    return is_symbol and bool(context.uses) and context.uses[-1] == element


def _switch(
    scene: Scene, element: ElementWrapper, context: RenderContext, place: str
) -> list[WalkItem]:
    for child, where in placed_children(element, place):
        ours = is_svg(child, scene.document.namespace)
        if ours and child.local_name not in NEVER_RENDERED and passes_conditions(child):
            return [(child, context, where)]
    return []


def _use(
    scene: Scene, element: ElementWrapper, context: RenderContext, place: str
) -> list[WalkItem]:
    name, href = context.name_of(element, place), href_of(element)
    if not href.startswith("#"):
        kind = "outside-reference" if href else "broken-reference"
        scene.say(context, kind, name, element, href[:60] or "no href")
        return []
    target = scene.target(href)
    if target is None:
        scene.say(context, "broken-reference", name, element, href)
        return []
    if target in context.uses or target == element or target in element.ancestors:
        scene.say(context, "use-cycle", name, element, href)
        return []
    if not scene.may_copy():
        scene.say(context, "too-many-copies", name, element)
        return []
    units, attributes = scene.units(context), element.etree_element.attrib
    shift = translation(
        units.length(context.style("x"), "x"), units.length(context.style("y"), "y")
    )
    inner = replace(
        context,
        matrix=times(context.matrix, shift),
        within=name,
        uses=(*context.uses, target),
        size=(attributes.get("width", "auto"), attributes.get("height", "auto")),
    )
    return [(target, inner, target.local_name)]


def _viewport(
    scene: Scene, element: ElementWrapper, context: RenderContext, place: str
) -> list[WalkItem]:
    """A nested svg, or a symbol that is used."""
    attributes, units, style = element.etree_element.attrib, scene.units(context), context.style
    is_symbol = element.local_name == "symbol"
    used = bool(context.uses) and context.uses[-1] == element
    given = context.size if used and context.size else ("auto", "auto")
    own = ("auto", "auto") if is_symbol else (style("width"), style("height"))
    width, height = (
        units.length(_first_given(*texts), axis)
        for texts, axis in zip(zip(given, own, strict=True), "xy", strict=True)
    )
    x, y = (
        (0.0, 0.0)
        if is_symbol
        else (
            units.length(style("x"), "x"),
            units.length(style("y"), "y"),
        )
    )
    box = view_box(attributes.get("viewBox"))
    if width <= 0 or height <= 0 or (box and min(box[2:]) <= 0):
        scene.say(context, "draws-nothing", context.name_of(element, place), element)
        return []
    clip = context.clip
    if style("overflow").lower() not in {"visible", "auto"}:
        clip = narrowed(clip, rectangle((x, y, x + width, y + height), context.matrix))
    view = view_map(box, attributes.get("preserveAspectRatio", ""), width, height)
    inner = replace(
        context,
        matrix=times(times(context.matrix, translation(x, y)), view),
        box=box[2:] if box else (width, height),
        clip=clip,
        size=None,
    )
    return [(child, inner, where) for child, where in placed_children(element, place)]


def _first_given(*texts: str) -> str:
    return next((text for text in texts if text.lower() != "auto"), "100%")
