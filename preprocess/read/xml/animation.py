"""Values that `set` gives from the start: the picture at time 0. Source: SMIL 3.0, section 12.

Other animations run on from there: the drawing is read as it stands without them.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from preprocess.read.xml.elements import SVG_NAMESPACE, href_of, referenced

if TYPE_CHECKING:
    from collections.abc import Iterator

    from cssselect2 import ElementWrapper

    from preprocess.read.xml.document import SvgDocument

_START = re.compile(r"\s*(?:-.*|\+?0+(?:\.0*)?(?:h|min|s|ms)?|\+?00?(?::00){1,2}(?:\.0*)?)\s*\Z")


def apply_initial_sets(document: SvgDocument) -> None:
    """Put what `set` elements give at time 0 into the attributes that they aim at.

    A style of the element goes before its attribute, as browsers have it.
    """
    for element, target in list(active_at_start(document, frozenset({"set"}))):
        attributes = element.etree_element.attrib
        name, value = attributes.get("attributeName", "").strip(), attributes.get("to")
        if value is None or ":" in name or not name.isascii():
            continue
        held = target.etree_element.attrib
        if name and name not in {"id", "style", "class", "href"}:
            held[name] = value


def active_at_start(
    document: SvgDocument, local_names: frozenset[str]
) -> Iterator[tuple[ElementWrapper, ElementWrapper]]:
    """Animations that are active at time 0 and what they aim at, in document order."""
    names = {name for local in local_names for name in (f"{{{SVG_NAMESPACE}}}{local}", local)}
    if next(document.root.etree_element.iter(*names), None) is None:
        return
    for element in document.root.iter_subtree():
        if element.etree_element.tag in names:
            begins = element.etree_element.get("begin", "0s").split(";")
            ends = element.etree_element.get("end", "").split(";")
            if any(map(_START.match, begins)) and not any(map(_START.match, ends)):
                href = href_of(element)
                target = referenced(href, document.by_id) if href else element.parent
                if target is not None:
                    yield element, target
