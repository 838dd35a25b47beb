"""The letters of a text element, each with the element whose style it has."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, TypeVar

from preprocess.read.fonts.matching import FontRequest, font_request
from preprocess.read.style.computed import Style, compute_style
from preprocess.read.xml.elements import SILENT_IN_TEXT, is_svg, passes_conditions

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from cssselect2 import ElementWrapper

    from preprocess.read.scene.context import RenderContext
    from preprocess.read.scene.scene import Scene
    from preprocess.read.scene.visit import ElementVisit


_HOLDERS = frozenset({"tspan", "textPath", "a", "altGlyph"})
_LINES = ("underline", "overline", "line-through")


@dataclass(frozen=True, eq=False)
class Span:
    """A text element or one inside it.

    `path` is the textPath around it or itself, `lines` the decorations that hold here,
    `embeddings` what turns the reading direction: an element and the directional character that
    it stands for.
    """

    visit: ElementVisit
    path: ElementWrapper | None = None
    lines: tuple[str, ...] = ()
    embeddings: tuple[tuple[ElementWrapper, str], ...] = ()
    parent: Span | None = None

    @property
    def element(self) -> ElementWrapper:
        """The element."""
        return self.visit.element

    @property
    def context(self) -> RenderContext:
        """Its context."""
        return self.visit.context

    @property
    def style(self) -> Style:
        """Its computed style."""
        return self.visit.context.style

    @cached_property
    def want(self) -> FontRequest:
        """The font that it asks for."""
        return font_request(self.style)


@dataclass(frozen=True, slots=True)
class Letter:
    """One character that takes part in the layout."""

    character: str
    span: Span


def letters_of(scene: Scene, visit: ElementVisit) -> list[Letter]:
    """The letters of a text element in reading order, spaces squeezed as the drawing asks."""
    held = [
        (character, preserves_spaces(one.style, one.element), one)
        for text, one in _texts(scene, _with_style(Span(visit)))
        for character in transform_text(text, one.style("text-transform"))
    ]
    return [Letter(character, one) for character, one in collapse_white_space(held)]


def _texts(scene: Scene, span: Span) -> Iterator[tuple[str, Span]]:
    yield span.element.etree_element.text or "", span
    for child in span.visit.children():
        inner = _entered(scene, child, span)
        if inner is not None:
            yield from _texts(scene, inner)
        yield child.element.etree_element.tail or "", span


def _entered(scene: Scene, visit: ElementVisit, outer: Span) -> Span | None:
    """The span of a child; None when it shows no letters."""
    element, tag, context = visit.element, visit.tag, visit.context
    if not is_svg(element, scene.document.namespace) or tag in SILENT_IN_TEXT:
        return None
    if tag not in _HOLDERS:
        scene.say(visit, "unknown-element", f"<{tag}> in a text")
        return None
    if not passes_conditions(element):
        scene.say(visit, "not-for-this-reader")
        return None
    style = compute_style(scene.cascade.declared(element), context.style, scene.units(context))
    if style("display").lower() == "none":
        scene.say(visit, "hidden")
        return None
    inner = replace(
        outer,
        visit=visit.inside(
            style=style, selectors=context.selectors | scene.choices.matching(element)
        ),
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


_T = TypeVar("_T")

_XML_SPACE = "{http://www.w3.org/XML/1998/namespace}space"
_KEEPING = frozenset({"pre", "pre-wrap", "break-spaces"})
_BLANKS = frozenset(" \t\r\n")


def preserves_spaces(style: Style, element: ElementWrapper) -> bool:
    """Test whether white space is preserved, by `white-space` or else the nearest xml:space."""
    declared = style("white-space").lower()
    if declared:
        return declared.split()[0] in _KEEPING
    node = element.etree_element
    for one in (node, *node.iterancestors()):
        word = one.attrib.get(_XML_SPACE)
        if word in {"default", "preserve"}:
            return word == "preserve"
    return False


def collapse_white_space(characters: Iterable[tuple[str, bool, _T]]) -> list[tuple[str, _T]]:
    """Characters with their spaces kept or not; several spaces in a row count as one.

    None is left at either end. Line ends and tabs count as spaces: SVG text has no lines.
    """
    found: list[tuple[str, bool, _T]] = []
    for character, keeps, of in characters:
        one = " " if character in _BLANKS else character
        if one == " " and not keeps and (not found or found[-1][0] == " "):
            continue
        found.append((one, keeps, of))
    if found and found[-1][0] == " " and not found[-1][1]:
        found.pop()
    return [(one, of) for one, _, of in found]


def transform_text(text: str, how: str) -> str:
    """Text in the case that `text-transform` asks for."""
    word = how.lower()
    if word == "uppercase":
        return text.upper()
    if word == "lowercase":
        return text.lower()
    if word == "capitalize":
        before = [" ", *text[:-1]]
        return "".join(
            one.title() if last in _BLANKS else one for last, one in zip(before, text, strict=False)
        )
    return text
