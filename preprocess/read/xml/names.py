"""Names of elements for messages: the id, or the path of positions."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

    from cssselect2 import ElementWrapper


def placed_children(element: ElementWrapper, place: str) -> Iterator[tuple[ElementWrapper, str]]:
    """The children of an element, each with its path such as "svg/g[2]/path[1]"."""
    seen: dict[str, int] = {}
    for child in element.iter_children():
        tag = child.local_name
        seen[tag] = count = seen.get(tag, 0) + 1
        yield child, f"{place}/{tag}[{count}]"


def element_path(element: ElementWrapper) -> str:
    """The element's id, or its path of positions from the root."""
    if element.id:
        return str(element.id)
    steps: list[str] = []
    found = element
    while found.parent is not None:
        tag = found.local_name
        same = [child for child in found.parent.iter_children() if child.local_name == tag]
        steps.append(f"{tag}[{same.index(found) + 1}]")
        found = found.parent
    return "/".join([found.local_name, *reversed(steps)])


def layer_label(element: ElementWrapper) -> str | None:
    """The label that a drawing program gave to a group: an attribute with that local name."""
    for name, value in element.etree_element.attrib.items():
        if str(name).rpartition("}")[2] == "label" and value:
            return str(value)
    return None
