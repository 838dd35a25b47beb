"""White space in text. Sources: SVG 2, section 11.7; CSS Text 3, section 4.1."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from collections.abc import Iterable

    from cssselect2 import ElementWrapper

    from preprocess.read.style.computed import Style


T = TypeVar("T")

_XML_SPACE = "{http://www.w3.org/XML/1998/namespace}space"
_KEEPING = frozenset({"pre", "pre-wrap", "break-spaces"})
_BLANKS = frozenset(" \t\r\n")


def keeps_spaces(style: Style, element: ElementWrapper) -> bool:
    """Whether every space counts: as `white-space` says, or else the nearest xml:space."""
    declared = style("white-space").lower()
    if declared:
        return declared.split()[0] in _KEEPING
    node = element.etree_element
    for one in (node, *node.iterancestors()):
        word = one.attrib.get(_XML_SPACE)
        if word in {"default", "preserve"}:
            return word == "preserve"
    return False


def squeezed(characters: Iterable[tuple[str, bool, T]]) -> list[tuple[str, T]]:
    """Characters with their spaces kept or not; several spaces in a row count as one.

    None is left at either end. Line ends and tabs count as spaces: SVG text has no lines.
    """
    found: list[tuple[str, bool, T]] = []
    for character, keeps, of in characters:
        one = " " if character in _BLANKS else character
        if one == " " and not keeps and (not found or found[-1][0] == " "):
            continue
        found.append((one, keeps, of))
    if found and found[-1][0] == " " and not found[-1][1]:
        found.pop()
    return [(one, of) for one, _, of in found]


def transformed(text: str, how: str) -> str:
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
