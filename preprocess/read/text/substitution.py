"""The recipe's words put into the texts of a drawing, before anything is read of it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import cssselect2

from preprocess.errors import Place, UserError, wrong
from preprocess.read.style.selector_matcher import compile_selectors
from preprocess.read.xml.document import SvgDocument, selectable
from preprocess.read.xml.elements import DESCRIPTIVE, TEXT_CONTENT, element_path

if TYPE_CHECKING:
    from collections.abc import Sequence

    from cssselect2 import ElementWrapper
    from lxml import etree

    from preprocess.model.options.lettering import Lettering, TextFit


def substitute_texts(
    document: SvgDocument, texts: Sequence[Lettering]
) -> tuple[SvgDocument, dict[etree._Element, TextFit]]:
    """Put the recipe's words into a drawing's texts; returns the drawing and allowed widths.

    A value is put in as text, never as markup.

    Raises:
        UserError: an element is missing, is no text, or holds several spans.
    """
    if not texts:
        return document, {}
    chosen = [(one, _chosen(document, one)) for one in texts]
    top, fits = document.root.etree_element, {}
    said: set[etree._Element] = set()
    for one, elements in chosen:
        for element in elements:
            holder = _holder(document, element, one)
            if holder in said or holder.getroottree().getroot() is not top:
                raise _refused(
                    document, element, "is replaced by two entries", "keep one entry for each text"
                )
            said.add(holder)
            _say(holder, one.text)
            if one.fit is not None:
                fits[holder] = one.fit
    return replace(document, root=selectable(top)), fits


def _chosen(document: SvgDocument, one: Lettering) -> list[ElementWrapper]:
    try:
        found = list(document.root.query_all(*compile_selectors(one.element)))
    except cssselect2.SelectorError as error:
        raise wrong(f"{one.element!r} is no CSS selector: {error}", "correct text:") from None
    if not found and not one.optional:
        remedy = "check the id of the text, or write optional: true if not every drawing has it"
        raise wrong(f"text: {one.element!r} matches nothing", remedy, place=Place(document.name))
    return found


def _holder(document: SvgDocument, element: ElementWrapper, one: Lettering) -> etree._Element:
    """The innermost element that holds all of the text, so that its style stays."""
    if element.local_name not in TEXT_CONTENT:
        raise _refused(
            document, element, f"is <{element.local_name}>, not a text", "name a text or a tspan"
        )
    while children := [c for c in element.iter_children() if c.local_name not in DESCRIPTIVE]:
        loose = (element.etree_element.text, *(c.etree_element.tail for c in children))
        if len(children) > 1 or any((text or "").strip() for text in loose):
            found = f"holds {len(children)} spans with styles of their own"
            raise _refused(document, element, found, "give one of them an id, and name that")
        element = children[0]
        if element.local_name == "textPath" and one.fit is not None:
            raise _refused(
                document, element, "runs along a path", "leave fit out, or draw it straight"
            )
    return element.etree_element


def _refused(document: SvgDocument, element: ElementWrapper, found: str, remedy: str) -> UserError:
    place = Place(document.name, element.etree_element.sourceline)
    return wrong(f"text: {element_path(element)} {found}", remedy, place=place)


def _say(holder: etree._Element, text: str) -> None:
    for child in list(holder):
        holder.remove(child)
    holder.text = text
