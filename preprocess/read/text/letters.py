"""The letters of a text element, each with the element whose style it has."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

from preprocess.read.fonts.matching import FontRequest, want_of
from preprocess.read.style.computed import Style, computed
from preprocess.read.text.spaces import keeps_spaces, squeezed, transformed
from preprocess.read.xml.elements import SILENT_IN_TEXT, is_svg, passes_conditions
from preprocess.read.xml.names import placed_children

if TYPE_CHECKING:
    from collections.abc import Iterator

    from cssselect2 import ElementWrapper

    from preprocess.read.scene.context import RenderContext
    from preprocess.read.scene.scene import Scene


_HOLDERS = frozenset({"tspan", "textPath", "a", "altGlyph"})
_LINES = ("underline", "overline", "line-through")


@dataclass(frozen=True, eq=False)
class Span:
    """A text element or one inside it.

    `owners` are the elements from the text element down to this one, `path` the textPath among
    them, `lines` the decorations that hold here, `embeddings` what turns the reading direction:
    an element and the directional character that it stands for.
    """

    element: ElementWrapper
    context: RenderContext
    name: str
    owners: tuple[ElementWrapper, ...]
    path: ElementWrapper | None = None
    lines: tuple[str, ...] = ()
    embeddings: tuple[tuple[ElementWrapper, str], ...] = ()
    parent: Span | None = None

    @property
    def style(self) -> Style:
        """The computed style."""
        return self.context.style

    @cached_property
    def want(self) -> FontRequest:
        """The font that it asks for."""
        return want_of(self.style)


@dataclass(frozen=True, slots=True)
class Letter:
    """One character that takes part in the layout."""

    character: str
    span: Span


def letters_of(
    scene: Scene, element: ElementWrapper, context: RenderContext, place: str
) -> list[Letter]:
    """The letters of a text element in reading order, spaces squeezed as the drawing asks."""
    name = context.name_of(element, place)
    span = _with_style(Span(element, context, name, (element,)))
    held = [
        (character, keeps_spaces(one.style, one.element), one)
        for text, one in _pieces(scene, span, place)
        for character in transformed(text, one.style("text-transform"))
    ]
    return [Letter(character, one) for character, one in squeezed(held)]


def _pieces(scene: Scene, span: Span, place: str) -> Iterator[tuple[str, Span]]:
    yield span.element.etree_element.text or "", span
    for child, where in placed_children(span.element, place):
        inner = _entered(scene, child, span, where)
        if inner is not None:
            yield from _pieces(scene, inner, where)
        yield child.etree_element.tail or "", span


def _entered(scene: Scene, element: ElementWrapper, outer: Span, place: str) -> Span | None:
    """The span of a child; None when it shows no letters."""
    tag, context = element.local_name, outer.context
    if not is_svg(element, scene.document.namespace) or tag in SILENT_IN_TEXT:
        return None
    name = context.name_of(element, place)
    if tag not in _HOLDERS:
        scene.say(context, "unknown-element", name, element, f"<{tag}> in a text")
        return None
    if not passes_conditions(element):
        scene.say(context, "not-for-this-reader", name, element)
        return None
    style = computed(scene.cascade.declared(element), context.style, scene.units(context))
    if style("display").lower() == "none":
        scene.say(context, "hidden", name, element)
        return None
    selectors = context.selectors | scene.choices.matching(element)
    inner = replace(
        outer,
        element=element,
        context=replace(context, style=style, selectors=selectors),
        name=name,
        owners=(*outer.owners, element),
        path=element if tag == "textPath" else outer.path,
        parent=outer,
    )
    return _with_style(inner)


def _with_style(span: Span) -> Span:
    words = span.style("text-decoration").lower().split()
    lines = tuple(line for line in _LINES if line in words and line not in span.lines)
    turn = _TURNS.get((span.style("unicode-bidi").lower(), span.style("direction").lower()))
    embeddings = (*span.embeddings, (span.element, turn)) if turn else span.embeddings
    return replace(span, lines=(*span.lines, *lines), embeddings=embeddings)


_TURNS = {
    (word, direction): turn
    for words, turns in (
        (("embed", "isolate"), ("\u202a", "\u202b")),
        (("bidi-override", "isolate-override"), ("\u202d", "\u202e")),
    )
    for word in words
    for direction, turn in zip(("ltr", "rtl"), turns, strict=True)
}
