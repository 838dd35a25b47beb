"""Elements that hold others: groups, switch, use, and viewports within the drawing."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.read.paint.images import image_outlines
from preprocess.read.scene.visit import ElementVisit
from preprocess.read.shapes.regions import intersect_clip, mapped_rectangle
from preprocess.read.xml.affine import compose, translation
from preprocess.read.xml.elements import NEVER_RENDERED, SHAPES, href_of, is_svg, passes_conditions
from preprocess.read.xml.viewport import view_box, view_map

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.read.scene.scene import Scene
    from preprocess.read.scene.walker import WalkItem


_PLAIN = frozenset({"g", "a"})


def is_drawn(scene: Scene, visit: ElementVisit) -> bool:
    """Test whether an element is rendered where it stands; remarks on a failed condition."""
    if not is_svg(visit.element, scene.document.namespace):
        return False
    if visit.tag in NEVER_RENDERED and not (visit.tag == "symbol" and _is_used(visit)):
        return False
    if passes_conditions(visit.element):
        return True
    scene.say(visit, "not-for-this-reader")
    return False


def expanded_container(scene: Scene, visit: ElementVisit) -> Sequence[WalkItem]:
    """The visits inside a container that has been entered."""
    tag = visit.tag
    if tag in _PLAIN:
        return visit.children()
    if tag == "use":
        return _use(scene, visit)
    if tag in {"svg", "symbol"}:
        return _viewport(scene, visit)
    if tag == "switch":
        return _switch(scene, visit)
    if tag == "image":
        return image_outlines(scene, visit)
    if tag == "foreignObject":
        scene.say(visit, "foreign-content-left-out")
    else:
        scene.say(visit.inside(quiet=False), "unknown-element", f"<{tag}>")
    return []


def _is_used(visit: ElementVisit) -> bool:
    """Test whether an element is drawn through a use."""
    uses = visit.context.uses
    return bool(uses) and uses[-1] == visit.element


def _switch(scene: Scene, visit: ElementVisit) -> list[ElementVisit]:
    for child in visit.children():
        ours = is_svg(child.element, scene.document.namespace)
        if ours and child.tag not in NEVER_RENDERED and passes_conditions(child.element):
            return [child]
    if any(child.tag in SHAPES for child in visit.children()):
        scene.say(visit, "not-for-this-reader")
    return []


def _use(scene: Scene, visit: ElementVisit) -> list[ElementVisit]:
    element, context, href = visit.element, visit.context, href_of(visit.element)
    if not href.startswith("#"):
        kind = "outside-reference" if href else "broken-reference"
        scene.say(visit, kind, href[:60] or "no href")
        return []
    target = scene.target(href)
    if target is None:
        scene.say(visit, "broken-reference", href)
        return []
    if target in context.uses or target == element or target in element.ancestors:
        scene.say(visit, "use-cycle", href)
        return []
    if not scene.may_copy():
        scene.say(visit, "too-many-copies")
        return []
    units, style = scene.units(context), visit.style
    shift = translation(units.length(style("x"), "x"), units.length(style("y"), "y"))
    inner = context.entering(
        target,
        matrix=compose(context.matrix, shift),
        within=visit.name,
        size=(visit.attributes.get("width", "auto"), visit.attributes.get("height", "auto")),
    )
    return [ElementVisit(target, inner, target.local_name)]


def _viewport(scene: Scene, visit: ElementVisit) -> list[ElementVisit]:
    """A nested svg, or a symbol that is used."""
    context, units, style = visit.context, scene.units(visit.context), visit.style
    is_symbol = visit.tag == "symbol"
    given = context.size if _is_used(visit) and context.size else ("auto", "auto")
    own = ("auto", "auto") if is_symbol else (style("width"), style("height"))
    width, height = (
        units.length(_first_given(*texts), axis)
        for texts, axis in zip(zip(given, own, strict=True), "xy", strict=True)
    )
    x, y = (0.0, 0.0) if is_symbol else (units.length(style(axis), axis) for axis in "xy")
    box = view_box(visit.attributes.get("viewBox"))
    if width <= 0 or height <= 0 or (box and min(box[2:]) <= 0):
        scene.say(visit, "draws-nothing")
        return []
    clip = context.clip
    if style("overflow").lower() not in {"visible", "auto"}:
        clip = intersect_clip(clip, mapped_rectangle((x, y, x + width, y + height), context.matrix))
    view = view_map(box, visit.attributes.get("preserveAspectRatio", ""), width, height)
    return visit.inside(
        matrix=compose(compose(context.matrix, translation(x, y)), view),
        box=box[2:] if box else (width, height),
        clip=clip,
        size=None,
    ).children()


def _first_given(*texts: str) -> str:
    return next((text for text in texts if text.lower() != "auto"), "100%")
