"""Elements that hold others: groups, switch, use, and viewports within the drawing."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from preprocess.read.paint.images import pictured
from preprocess.read.shapes.regions import narrowed, rectangle
from preprocess.read.style.gradients import href_of
from preprocess.read.xml.affine import times, translation
from preprocess.read.xml.document import SVG
from preprocess.read.xml.names import name_of, with_places
from preprocess.read.xml.viewport import view_box, view_map

if TYPE_CHECKING:
    from cssselect2 import ElementWrapper

    from preprocess.read.walk.painted import Frame
    from preprocess.read.walk.scene import Scene
    from preprocess.read.walk.walk import Task

_NEVER_DRAWN = frozenset(
    [
        "defs",
        "symbol",
        "clipPath",
        "mask",
        "marker",
        "pattern",
        "linearGradient",
        "radialGradient",
        "meshgradient",
        "hatch",
        "solidcolor",
        "filter",
        "style",
        "title",
        "desc",
        "metadata",
        "script",
        "animate",
        "animateColor",
        "animateMotion",
        "animateTransform",
        "set",
        "discard",
        "mpath",
        "view",
        "cursor",
        "color-profile",
        "font",
        "font-face",
        "glyph",
        "missing-glyph",
        "stop",
        "tspan",
        "textPath",
        "tref",
        "altGlyphDef",
    ]
)
_PLAIN = frozenset({"g", "a"})
_LEFT_OUT = {
    "foreignObject": "foreign-content-left-out",
}
_OURS = "en"


def is_drawn(scene: Scene, element: ElementWrapper, frame: Frame, name: str) -> bool:
    """Whether an element takes part in the picture where it stands; says so when it might have."""
    if (element.namespace_url or None) not in {SVG, scene.document.namespace}:
        return False
    if element.local_name in _NEVER_DRAWN and not _is_used(element, frame):
        return False
    if is_for_us(element):
        return True
    scene.say(frame, "not-for-this-reader", name, element)
    return False


def is_for_us(element: ElementWrapper) -> bool:
    """Conditional processing: no extensions, and English where it depends on the language."""
    attributes = element.etree_element.attrib
    if attributes.get("requiredExtensions", "").strip():
        return False
    languages = attributes.get("systemLanguage")
    if languages is None:
        return True
    spoken = [part.strip().lower() for part in languages.split(",")]
    return any(part == _OURS or part.startswith(f"{_OURS}-") for part in spoken)


def expanded(scene: Scene, element: ElementWrapper, frame: Frame, place: str) -> list[Task]:
    """The tasks inside a container that has been entered."""
    tag = element.local_name
    if tag in _PLAIN:
        return [(child, frame, where) for child, where in with_places(element, place)]
    if tag == "use":
        return _use(scene, element, frame, place)
    if tag in {"svg", "symbol"}:
        return _viewport(scene, element, frame, place)
    if tag == "switch":
        return _switch(scene, element, frame, place)
    if tag == "image":
        return [*pictured(scene, element, frame, place)]
    if tag not in _LEFT_OUT:
        scene.say(frame, "unknown-element", name_of(element, frame, place), element, f"<{tag}>")
    else:
        scene.say(frame, _LEFT_OUT[tag], name_of(element, frame, place), element)
    return []


def _is_used(element: ElementWrapper, frame: Frame) -> bool:
    """Whether a symbol is being drawn through a use."""
    is_symbol = element.local_name == "symbol"
    return is_symbol and bool(frame.uses) and frame.uses[-1] == element


def _switch(scene: Scene, element: ElementWrapper, frame: Frame, place: str) -> list[Task]:
    for child, where in with_places(element, place):
        ours = (child.namespace_url or None) in {SVG, scene.document.namespace}
        if ours and child.local_name not in _NEVER_DRAWN and is_for_us(child):
            return [(child, frame, where)]
    return []


def _use(scene: Scene, element: ElementWrapper, frame: Frame, place: str) -> list[Task]:
    name, href = name_of(element, frame, place), href_of(element)
    if not href.startswith("#"):
        kind = "outside-reference" if href else "broken-reference"
        scene.say(frame, kind, name, element, href[:60] or "no href")
        return []
    target = scene.by_id.get(href[1:])
    if target is None:
        scene.say(frame, "broken-reference", name, element, href)
        return []
    if target in frame.uses or target == element or target in element.ancestors:
        scene.say(frame, "use-cycle", name, element, href)
        return []
    if not scene.may_copy():
        scene.say(frame, "too-many-copies", name, element)
        return []
    units, attributes = scene.units(frame), element.etree_element.attrib
    shift = translation(units.length(frame.style("x"), "x"), units.length(frame.style("y"), "y"))
    inner = replace(
        frame,
        matrix=times(frame.matrix, shift),
        within=name,
        uses=(*frame.uses, target),
        size=(attributes.get("width", "auto"), attributes.get("height", "auto")),
    )
    return [(target, inner, target.local_name)]


def _viewport(scene: Scene, element: ElementWrapper, frame: Frame, place: str) -> list[Task]:
    """A nested svg, or a symbol that is used."""
    attributes, units, style = element.etree_element.attrib, scene.units(frame), frame.style
    is_symbol = element.local_name == "symbol"
    used = bool(frame.uses) and frame.uses[-1] == element
    given = frame.size if used and frame.size else ("auto", "auto")
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
        scene.say(frame, "draws-nothing", name_of(element, frame, place), element)
        return []
    clip = frame.clip
    if style("overflow").lower() not in {"visible", "auto"}:
        clip = narrowed(clip, rectangle((x, y, x + width, y + height), frame.matrix))
    view = view_map(box, attributes.get("preserveAspectRatio", ""), width, height)
    inner = replace(
        frame,
        matrix=times(times(frame.matrix, translation(x, y)), view),
        box=box[2:] if box else (width, height),
        clip=clip,
        size=None,
    )
    return [(child, inner, where) for child, where in with_places(element, place)]


def _first_given(*texts: str) -> str:
    return next((text for text in texts if text.lower() != "auto"), "100%")
