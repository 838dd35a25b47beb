"""References between elements: href, and chains of elements that inherit attributes."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from cssselect2 import ElementWrapper

_XLINK_HREF = "{http://www.w3.org/1999/xlink}href"


def href_of(element: ElementWrapper) -> str:
    """The target of an element; `href` goes before `xlink:href`."""
    attributes = element.etree_element.attrib
    return str(attributes.get("href", attributes.get(_XLINK_HREF, ""))).strip()


def referenced(href: str, by_id: Mapping[str, ElementWrapper]) -> ElementWrapper | None:
    """The element of this drawing that "#id" refers to; None for any other text."""
    return by_id.get(href[1:]) if href.startswith("#") else None


def template_chain(
    element: ElementWrapper, by_id: Mapping[str, ElementWrapper], kinds: frozenset[str]
) -> list[ElementWrapper]:
    """A paint server and its templates, nearest first; stops where the chain closes."""
    found, seen = [element], {element.etree_element}
    while True:
        target = by_id.get(href_of(found[-1])[1:])
        if target is None or target.local_name not in kinds or target.etree_element in seen:
            return found
        found.append(target)
        seen.add(target.etree_element)


def templated_attributes(chain: list[ElementWrapper]) -> dict[str, str]:
    """The attributes of a paint server, with missing ones taken from its templates."""
    found: dict[str, str] = {}
    for element in reversed(chain):
        found |= {str(name): str(value) for name, value in element.etree_element.attrib.items()}
    return found
