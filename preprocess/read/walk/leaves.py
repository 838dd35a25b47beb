"""Basic shapes and paths: their outline, paint, pen, markers and patterns."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from preprocess.read.paint.gradient_geometry import gradient_ink
from preprocess.read.paint.markers import markers
from preprocess.read.paint.paints import GRADIENTS, Missing, Server, ink_of, paint_of, share
from preprocess.read.paint.patterns import tiles
from preprocess.read.paint.pens import pen_of
from preprocess.read.shapes.basic_shapes import SHAPES, shape_path
from preprocess.read.style.shared import placed_style
from preprocess.read.walk.painted import Ink, Painted
from preprocess.read.xml.affine import is_flat
from preprocess.read.xml.lengths import Units
from preprocess.read.xml.names import name_of

if TYPE_CHECKING:
    from cssselect2 import ElementWrapper

    from preprocess.read.shapes.compact_shapes import Outline
    from preprocess.read.style.computed import Style
    from preprocess.read.walk.painted import Frame
    from preprocess.read.walk.scene import Scene
    from preprocess.read.walk.walk import Task, Walker

TAGS = SHAPES
_ORDER = ("fill", "stroke", "markers")
_MARKED = ("start", "mid", "end")


def painted(walker: Walker, element: ElementWrapper, frame: Frame, place: str) -> list[Task]:
    """What a shape paints, in its paint order."""
    scene, style = walker.scene, frame.style
    name, look = name_of(element, frame, place), style.once(_look)
    path = _path(scene, element, frame, name)
    if is_flat(frame.matrix):
        scene.say(frame, "flat-shape", name, element)
        return []
    if not look.visible and not frame.hidden:
        scene.say(frame, "hidden", name, element)
        frame = replace(frame, hidden=True)
    plain = (
        look.plain and not frame.silhouette and frame.alpha == 1 and element.local_name != "line"
    )
    whole = Painted(
        name=name,
        line=element.etree_element.sourceline,
        label=frame.label or frame.group,
        selectors=frame.selectors,
        path=path,
        matrix=frame.matrix,
        ink=look.ink if plain else None,
        rule=look.rule,
        clip=frame.clip,
        hidden=frame.hidden,
    )
    return [whole] if plain else inked(walker, element, frame, whole)


def _path(scene: Scene, element: ElementWrapper, frame: Frame, name: str) -> Outline:
    """The outline of a shape; says what is wrong with it."""
    style = placed_style(scene, element, frame.style, quiet=frame.quiet)
    units: Units | None = frame.kept.get(Units)
    if units is None:
        units = frame.kept[Units] = scene.units(frame)
    path, wrong = shape_path(element.local_name, element.etree_element.attrib, style, units)
    if wrong:
        scene.say(frame, "broken-path", name, element, wrong)
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
    veiled = ink and ink.veiled(share(style("fill-opacity")))
    return _Look(visible, rule, plain=True, ink=veiled)


def inked(walker: Walker, element: ElementWrapper, frame: Frame, whole: Painted) -> list[Task]:
    """An outline with the fill, stroke and markers of its element, in their paint order."""
    scene, style = walker.scene, frame.style
    if frame.silhouette:
        return [replace(whole, rule=style("clip-rule").lower(), ink=Ink("#000000"))]
    pen = None
    if style("stroke") != "none":
        attributes, units = element.etree_element.attrib, scene.units(frame)
        pen = pen_of(style, attributes, units, frame.matrix, scene.mm_per_px)
        pen = pen and replace(pen, most_dashes=scene.limits.dashes)
    pieces: dict[str, list[Painted]] = {}
    if element.local_name != "line" and style("fill") != "none":
        pieces["fill"] = _inked(walker, element, frame, whole)
    if pen is not None:
        pieces["stroke"] = _inked(walker, element, frame, replace(whole, pen=pen))
    if element.local_name in {"path", "line", "polyline", "polygon"}:
        pieces["markers"] = list(markers(walker, element, frame, whole))
    found = [one for what in paint_order(style("paint-order")) for one in pieces.get(what, ())]
    # An outline without paint may still be the silhouette of a part.
    return [*found] or [whole]


def paint_order(text: str) -> tuple[str, ...]:
    """Fill, stroke and markers in the order in which they are painted."""
    words = [word for word in text.lower().split() if word in _ORDER]
    return (*words, *(word for word in _ORDER if word not in words))


def _inked(walker: Walker, element: ElementWrapper, frame: Frame, whole: Painted) -> list[Painted]:
    """A fill or stroke with its ink, the tiles of a pattern in its place, or nothing."""
    scene, style = walker.scene, frame.style
    what = "stroke" if whole.pen else "fill"
    paint = _paint(walker, element, frame, whole, what)
    if isinstance(paint, Server):
        found = tiles(walker, paint.element, (element, frame, whole))
        if found is not None:
            return found
        scene.say(frame, "pattern-cap", whole.name, element)
        paint = Ink("#000000")
    if paint is None:
        return []
    veil = share(style(f"{what}-opacity")) * frame.alpha
    return [replace(whole, ink=paint.veiled(veil))]


def _paint(
    walker: Walker, element: ElementWrapper, frame: Frame, whole: Painted, what: str
) -> Ink | Server | None:
    """The paint of a fill or stroke with gradients and missing paints worked out."""
    scene, style = walker.scene, frame.style
    value = style(what)
    if value.startswith("context-"):
        value = frame.context[0 if value == "context-fill" else 1]
    paint = paint_of(value, style, scene.by_id)
    if isinstance(paint, Missing):
        scene.say(frame, "broken-reference", whole.name, element, f"{what} {paint.href[:60]}")
        return paint.fallback
    if isinstance(paint, Server) and paint.element.local_name in GRADIENTS:
        return gradient_ink(walker, paint.element, (element, frame, ""))
    return paint
