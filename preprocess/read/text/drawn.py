"""A text element as outlines that are filled and stroked like any other."""

from __future__ import annotations

from dataclasses import replace
from importlib.util import find_spec
from typing import TYPE_CHECKING

from preprocess.read.walk import leaves
from preprocess.read.walk.painted import Ink, Painted
from preprocess.read.xml.affine import is_flat
from preprocess.read.xml.names import name_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from cssselect2 import ElementWrapper

    from preprocess.read.shapes.pathdata import Path
    from preprocess.read.text.fonts.font import Font
    from preprocess.read.text.layout.chunks import Placed
    from preprocess.read.text.letters import Letter, Span
    from preprocess.read.walk.painted import Frame
    from preprocess.read.walk.scene import Scene
    from preprocess.read.walk.walk import Task, Walker

_ACROSS = frozenset({"horizontal-tb", "lr", "lr-tb", "rl", "rl-tb"})

NEEDED = ("fontTools", "uharfbuzz", "bidi")
"""Modules of the `text` extra."""


def can_shape() -> bool:
    """Whether the `text` extra is installed."""
    return all(find_spec(name) is not None for name in NEEDED)


def painted(walker: Walker, element: ElementWrapper, frame: Frame, place: str) -> list[Task]:
    """What a text element paints, one outline for each of its spans and fonts."""
    from preprocess.read.text.letters import letters_of

    scene, name = walker.scene, name_of(element, frame, place)
    letters = letters_of(scene, element, frame, place)
    if not any(letter.character.strip() for letter in letters):
        return []
    if is_flat(frame.matrix):
        scene.say(frame, "flat-shape", name, element)
        return []
    if not can_shape():
        scene.say(frame, "text-needs-extra", name, element)
        return []
    return [
        task
        for span, path in _outlines(scene, letters, frame)
        for task in _inked(walker, element, span, path)
    ]


def _outlines(scene: Scene, letters: Sequence[Letter], frame: Frame) -> list[tuple[Span, Path]]:
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
    placed: list[Placed] = list(laid_out(scene, letters, fonts))
    return shrunk(scene, placed, cells(placed) if frame.cells else outlines(placed))


def _say_unfollowed(scene: Scene, letters: Sequence[Letter], fonts: Sequence[Font]) -> None:
    """Remarks on settings that are not followed, once for each span."""
    for span, font in {
        letter.span: font for letter, font in zip(letters, fonts, strict=True)
    }.items():
        writing = span.style("writing-mode").lower()
        if writing not in _ACROSS:
            detail = f"writing-mode {writing}"
            scene.say(span.frame, "text-style-ignored", span.name, span.element, detail)
        if "small-caps" in span.style("font-variant").lower() and not font.has_small_capitals:
            detail = f"small-caps in {font.face.label}"
            scene.say(span.frame, "text-style-ignored", span.name, span.element, detail)


def _inked(walker: Walker, element: ElementWrapper, span: Span, path: Path) -> list[Task]:
    frame, style = span.frame, span.style
    if style("visibility").lower() != "visible" and not frame.hidden:
        walker.scene.say(frame, "hidden", span.name, span.element)
        frame = replace(frame, hidden=True)
    whole = Painted(
        name=span.name,
        line=span.element.etree_element.sourceline,
        label=frame.label or frame.group,
        selectors=frame.selectors,
        path=path,
        matrix=frame.matrix,
        clip=frame.clip,
        hidden=frame.hidden,
    )
    if frame.silhouette:
        return [replace(whole, ink=Ink("#000000"))]
    return leaves.inked(walker, element, frame, whole)
