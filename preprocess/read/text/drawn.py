"""A text element as outlines that are filled and stroked like any other."""

from __future__ import annotations

from dataclasses import replace
from importlib.util import find_spec
from typing import TYPE_CHECKING

from preprocess.read.paint.paint_outline import paint_outline
from preprocess.read.scene.painted import Ink, PaintedOutline, painted_outline
from preprocess.read.xml.affine import is_flat

if TYPE_CHECKING:
    from collections.abc import Sequence

    from cssselect2 import ElementWrapper

    from preprocess.read.fonts.font import Font
    from preprocess.read.scene.context import RenderContext
    from preprocess.read.scene.scene import Scene
    from preprocess.read.scene.walker import ElementWalker
    from preprocess.read.shapes.pathdata import Path
    from preprocess.read.text.layout.chunks import PlacedCluster
    from preprocess.read.text.letters import Letter, Span


_ACROSS = frozenset({"horizontal-tb", "lr", "lr-tb", "rl", "rl-tb"})

NEEDED = ("fontTools", "uharfbuzz", "bidi")
"""Modules of the `text` extra."""


def can_shape() -> bool:
    """Whether the `text` extra is installed."""
    return all(find_spec(name) is not None for name in NEEDED)


def text_outlines(
    walker: ElementWalker, element: ElementWrapper, context: RenderContext, place: str
) -> list[PaintedOutline]:
    """What a text element paints, one outline for each of its spans and fonts."""
    from preprocess.read.text.letters import letters_of

    scene, name = walker.scene, context.name_of(element, place)
    letters = letters_of(scene, element, context, place)
    if not any(letter.character.strip() for letter in letters):
        return []
    if is_flat(context.matrix):
        scene.say(context, "flat-shape", name, element)
        return []
    if not can_shape():
        scene.say(context, "text-needs-extra", name, element)
        return []
    return [
        one
        for span, path in _outlines(scene, letters, context)
        for one in _inked(walker, element, span, path)
    ]


def _outlines(
    scene: Scene, letters: Sequence[Letter], context: RenderContext
) -> list[tuple[Span, Path]]:
    from preprocess.read.text.layout.chunks import laid_out
    from preprocess.read.text.layout.runs import fonts_of
    from preprocess.read.text.layout.shrinking import shrunk
    from preprocess.read.text.outlines import cells, outlines

    fonts = fonts_of(scene, letters)
    for path in scene.shelf.unreadable:
        scene.remarks.add("font-unreadable", path.name)
    if fonts is None:
        return []
    _say_unfollowed(scene, letters, fonts)
    placed: list[PlacedCluster] = list(laid_out(scene, letters, fonts))
    return shrunk(scene, placed, cells(placed) if context.cells else outlines(placed))


def _say_unfollowed(scene: Scene, letters: Sequence[Letter], fonts: Sequence[Font]) -> None:
    """Remarks on settings that are not followed, once for each span."""
    for span, font in {
        letter.span: font for letter, font in zip(letters, fonts, strict=True)
    }.items():
        writing = span.style("writing-mode").lower()
        if writing not in _ACROSS:
            detail = f"writing-mode {writing}"
            scene.say(span.context, "text-style-ignored", span.name, span.element, detail)
        if "small-caps" in span.style("font-variant").lower() and not font.has_small_capitals:
            detail = f"small-caps in {font.face.label}"
            scene.say(span.context, "text-style-ignored", span.name, span.element, detail)


def _inked(
    walker: ElementWalker, element: ElementWrapper, span: Span, path: Path
) -> list[PaintedOutline]:
    context, style = span.context, span.style
    if style("visibility").lower() != "visible" and not context.hidden:
        walker.scene.say(context, "hidden", span.name, span.element)
        context = replace(context, hidden=True)
    if context.silhouette:
        return [painted_outline(span.element, context, span.name, path, Ink("#000000"))]
    whole = painted_outline(span.element, context, span.name, path)
    return paint_outline(walker, element, context, whole)
