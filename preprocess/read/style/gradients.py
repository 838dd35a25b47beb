"""The stops of gradients, and what elements take from those that they refer to."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.read.paint.paints import GRADIENTS, ink_of, share
from preprocess.read.style.computed import Style, computed
from preprocess.read.walk.painted import Ink
from preprocess.read.xml.document import XLINK

if TYPE_CHECKING:
    from collections.abc import Mapping

    from cssselect2 import ElementWrapper

    from preprocess.read.style.cascade import Cascade
    from preprocess.read.xml.lengths import Units


def stop_inks(
    gradient: ElementWrapper,
    by_id: Mapping[str, ElementWrapper],
    cascade: Cascade,
    units: Units,
) -> list[tuple[float, Ink]]:
    """Offset, from 0 to 1, and paint of each stop of a gradient, inherited ones too."""
    return [
        (share(stop.etree_element.attrib.get("offset", "0"), 0.0), _stop(stop, cascade, units))
        for stop in _stops(gradient, by_id)
    ]


def href_of(element: ElementWrapper) -> str:
    """What an element refers to; `href` goes before `xlink:href`."""
    attributes = element.etree_element.attrib
    text = attributes.get("href", attributes.get(f"{{{XLINK}}}href", ""))
    return str(text).strip()


def chain(
    element: ElementWrapper, by_id: Mapping[str, ElementWrapper], kinds: frozenset[str]
) -> list[ElementWrapper]:
    """An element and those that it takes missing things from; stops where the chain closes."""
    found, seen = [element], {element.etree_element}
    while True:
        target = by_id.get(href_of(found[-1])[1:])
        if target is None or target.local_name not in kinds or target.etree_element in seen:
            return found
        found.append(target)
        seen.add(target.etree_element)


def _stops(gradient: ElementWrapper, by_id: Mapping[str, ElementWrapper]) -> list[ElementWrapper]:
    for element in chain(gradient, by_id, GRADIENTS):
        stops = [child for child in element.iter_children() if child.local_name == "stop"]
        if stops:
            return stops
    return []


def _stop(stop: ElementWrapper, cascade: Cascade, units: Units) -> Ink:
    style = style_at(stop, cascade, units)
    ink = ink_of(style("stop-color"), style) or Ink("#000000")
    return Ink(ink.colour, ink.alpha * share(style("stop-opacity")))


def style_at(element: ElementWrapper, cascade: Cascade, units: Units) -> Style:
    """The style of an element where it stands in the document."""
    style = Style()
    for ancestor in (*element.ancestors, element):
        style = computed(cascade.declared(ancestor), style, units)
    return style
