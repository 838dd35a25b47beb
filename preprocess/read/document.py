"""From bytes to an element tree, with limits and without ever leaving the file."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import cssselect2
from lxml import etree

from preprocess.errors import Place, wrong

if TYPE_CHECKING:
    from cssselect2 import ElementWrapper

SVG = "http://www.w3.org/2000/svg"
XLINK = "http://www.w3.org/1999/xlink"
MOST_BYTES = 256 * 1024 * 1024
DEEPEST = 250
"""Elements may be nested this deep; no drawing program needs a tenth of it."""

_REMEDY = "export the drawing again as plain SVG"


@dataclass(frozen=True, slots=True)
class Document:
    """The element tree of a drawing; the first element that has an id keeps it."""

    name: str
    root: ElementWrapper
    by_id: dict[str, ElementWrapper]
    namespace: str | None


def parse(data: bytes, name: str) -> Document:
    """Read an SVG document; opens nothing, expands internal entities only, within limits.

    Raises:
        UserError: the bytes are no SVG; says where and what to do.
    """
    if not data.strip():
        raise wrong("the file is empty", _REMEDY, place=Place(name))
    if len(data) > MOST_BYTES:
        size = f"{len(data) / 2**20:.0f} MiB"
        raise wrong(f"the file has {size}; at most 256 are read", "split it", place=Place(name))
    element = _tree(data, name)
    tag = etree.QName(element)
    if tag.localname != "svg" or tag.namespace not in {SVG, None}:
        place = Place(name, element.sourceline)
        raise wrong(f"the file holds <{tag.localname}>, not an SVG drawing", _REMEDY, place=place)
    root = cssselect2.ElementWrapper.from_xml_root(element)
    return Document(name, root, _ids(root, name), tag.namespace)


def _tree(data: bytes, name: str) -> etree._Element:
    # libxml2 watches how entities grow only while its own limits are on.
    huge = b"<!ENTITY" not in data and b"<\0!\0E\0N\0T\0I\0T\0Y" not in data
    parser = etree.XMLParser(
        resolve_entities="internal",
        no_network=True,
        load_dtd=False,
        huge_tree=huge,
        remove_comments=True,
        remove_pis=True,
    )
    try:
        return etree.fromstring(data, parser)
    except etree.XMLSyntaxError as error:
        line, column = error.position
        place = Place(name, line or None, column or None)
        found, remedy = _explained(str(error.msg), data)
        raise wrong(found, remedy, place=place) from None
    except (ValueError, LookupError) as error:
        raise wrong(
            f"the file cannot be read as XML: {error}", _REMEDY, place=Place(name)
        ) from None


def _explained(message: str, data: bytes) -> tuple[str, str]:
    plain = message.partition(", line ")[0].strip().rstrip(".")
    if "depth" in plain:
        return _TOO_DEEP, "ungroup the drawing"
    if "amplification" in plain or "entity" in plain.lower():
        if "SYSTEM" in data[:4096].decode("latin-1") or "amplification" in plain:
            found = "the file uses entities that grow without limit or reach out of the file"
            return found, "export the drawing again without a DOCTYPE"
        return f"the XML is damaged: {plain}", _REMEDY
    if "empty" in plain or "Start tag expected" in plain:
        return "the file is no XML at all", _REMEDY
    if "Premature end" in plain or "EndTag" in plain:
        return f"the file is cut off or damaged: {plain}", "copy or export it again"
    return f"the XML is damaged: {plain}", _REMEDY


_TOO_DEEP = f"groups are nested more than {DEEPEST} deep"


def _ids(root: ElementWrapper, name: str) -> dict[str, ElementWrapper]:
    found: dict[str, ElementWrapper] = {}
    stack = [(root, 1)]
    while stack:
        element, depth = stack.pop()
        if depth > DEEPEST:
            place = Place(name, element.etree_element.sourceline)
            raise wrong(_TOO_DEEP, "ungroup the drawing", place=place)
        if element.id:
            found.setdefault(element.id, element)
        stack.extend((child, depth + 1) for child in reversed(list(element.iter_children())))
    return found
