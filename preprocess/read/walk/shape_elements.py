"""Basic shapes and paths: their outline, paint, pen, markers and patterns."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from preprocess.read.paint.paint_outline import paint_outline
from preprocess.read.scene.painted import Ink, Outline, PaintedOutline, ink_of
from preprocess.read.shapes.basic_shapes import shape_path
from preprocess.read.style.colours import alpha_value
from preprocess.read.style.element_style import placed_style
from preprocess.read.xml.affine import is_degenerate

if TYPE_CHECKING:
    from preprocess.read.scene.scene import Scene
    from preprocess.read.scene.visit import ElementVisit
    from preprocess.read.scene.walker import ElementWalker
    from preprocess.read.style.computed import Style


_MARKED = ("start", "mid", "end")


def shape_outlines(walker: ElementWalker, visit: ElementVisit) -> list[PaintedOutline]:
    """Outlines painted by a shape, in its paint order."""
    scene, context, look = walker.scene, visit.context, visit.style.once(_look)
    path = _path(scene, visit)
    if is_degenerate(context.matrix):
        scene.say(visit, "flat-shape")
        return []
    if not look.visible and not context.hidden:
        scene.say(visit, "hidden")
        visit = visit.inside(hidden=True)
    plain = look.plain and not context.silhouette and context.alpha == 1 and visit.tag != "line"
    whole = visit.outline(path, look.ink if plain else None, look.rule)
    return [whole] if plain else paint_outline(walker, visit, whole)


def _path(scene: Scene, visit: ElementVisit) -> Outline:
    """The outline of a shape; remarks on damaged data."""
    context = visit.context
    style = placed_style(scene.cascade, visit.element, context.style, quiet=context.quiet)
    path, wrong = shape_path(visit.tag, visit.attributes, style, scene.units(context))
    if wrong:
        scene.say(visit, "broken-path", wrong)
    return path


@dataclass(frozen=True, slots=True)
class _Look:
    """Look of every shape with one style.

    It is plain where the shape is filled with the colour `ink`, or not at all, and nothing else.
    """

    visible: bool
    rule: str
    plain: bool
    ink: Ink | None


def _look(style: Style) -> _Look:
    visible, rule = style("visibility").lower() == "visible", style("fill-rule").lower()
    bare = style("stroke") == "none" and all(style(f"marker-{at}") == "none" for at in _MARKED)
    value = style("fill")
    if not bare or "(" in value or value.startswith("context-"):
        return _Look(visible, rule, plain=False, ink=None)
    ink = ink_of(value, style)
    veiled = ink and ink.veiled(alpha_value(style("fill-opacity")))
    return _Look(visible, rule, plain=True, ink=veiled)
