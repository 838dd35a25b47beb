"""Basic shapes and paths: their outline, paint, pen, markers and patterns."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from preprocess.read.paint.paint_outline import paint_outline
from preprocess.read.paint.paints import ink_of
from preprocess.read.scene.painted import Ink, Outline, PaintedOutline, painted_outline
from preprocess.read.shapes.basic_shapes import shape_path
from preprocess.read.style.colours import alpha_value
from preprocess.read.style.element_style import placed_style
from preprocess.read.xml.affine import is_flat

if TYPE_CHECKING:
    from cssselect2 import ElementWrapper

    from preprocess.read.scene.context import RenderContext
    from preprocess.read.scene.scene import Scene
    from preprocess.read.scene.walker import ElementWalker
    from preprocess.read.style.computed import Style


_MARKED = ("start", "mid", "end")


def shape_outlines(
    walker: ElementWalker, element: ElementWrapper, context: RenderContext, place: str
) -> list[PaintedOutline]:
    """What a shape paints, in its paint order."""
    scene, style = walker.scene, context.style
    name, look = context.name_of(element, place), style.once(_look)
    path = _path(scene, element, context, name)
    if is_flat(context.matrix):
        scene.say(context, "flat-shape", name, element)
        return []
    if not look.visible and not context.hidden:
        scene.say(context, "hidden", name, element)
        context = replace(context, hidden=True)
    plain = (
        look.plain
        and not context.silhouette
        and context.alpha == 1
        and element.local_name != "line"
    )
    ink = look.ink if plain else None
    whole = painted_outline(element, context, name, path, ink, look.rule)
    return [whole] if plain else paint_outline(walker, element, context, whole)


def _path(scene: Scene, element: ElementWrapper, context: RenderContext, name: str) -> Outline:
    """The outline of a shape; says what is wrong with it."""
    style = placed_style(scene.cascade, element, context.style, quiet=context.quiet)
    units = scene.units(context)
    path, wrong = shape_path(element.local_name, element.etree_element.attrib, style, units)
    if wrong:
        scene.say(context, "broken-path", name, element, wrong)
    return path


@dataclass(frozen=True, slots=True)
class _Look:
    """What a style says of every shape that has it.

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
