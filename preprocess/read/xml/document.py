"""Parse bytes into an element tree, within limits; no other file is opened."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING
from xml.parsers import expat

import cssselect2
from lxml import etree

from preprocess.errors import Place, wrong
from preprocess.read.xml.drawing_bytes import too_large
from preprocess.read.xml.elements import SVG_NAMESPACE
from preprocess.read.xml.entities import NestedTooDeepError, holds_markup, tree_with_entities
from preprocess.read.xml.packed import DamagedPackageError, TooLargeError, unpacked

if TYPE_CHECKING:
    from collections.abc import Mapping

    from cssselect2 import ElementWrapper

    from preprocess.model.options.limits import DrawingLimits

_DEEPEST_WITH_ENTITIES = 256
_MENDED = {etree.ErrorTypes.WAR_NS_URI, etree.ErrorTypes.NS_ERR_UNDEFINED_NAMESPACE}
"""Errors of libxml2 in what is right: names that are no addresses, and prefixes in entities."""

_REMEDY = "export the drawing again as plain SVG"


@dataclass(frozen=True)
class SvgDocument:
    """The element tree of a drawing and the namespace of its outermost svg."""

    name: str
    root: ElementWrapper
    namespace: str | None

    @cached_property
    def by_id(self) -> Mapping[str, ElementWrapper]:
        """Elements by id; the first that has an id keeps it."""
        found: dict[str, ElementWrapper] = {}
        stack = [self.root]
        while stack:
            element = stack.pop()
            if element.id:
                found.setdefault(element.id, element)
            stack.extend(reversed(list(element.iter_children())))
        return found


def parse_svg(data: bytes, name: str, limits: DrawingLimits) -> SvgDocument:
    """Read an SVG document; opens nothing, expands internal entities only, within limits.

    Raises:
        UserError: the bytes are no SVG; says where and what to do.
    """
    data = _plain(data, name, int(limits.file))
    if not data.strip():
        raise wrong("the file is empty", _REMEDY, place=Place(name))
    element = _tree(data, name, limits.depth)
    tag = etree.QName(element)
    if tag.localname != "svg" or tag.namespace not in {SVG_NAMESPACE, None}:
        place = Place(name, element.sourceline)
        raise wrong(f"the file holds <{tag.localname}>, not an SVG drawing", _REMEDY, place=place)
    _check_depth(element, name, limits.depth)
    return SvgDocument(name, selectable(element), tag.namespace)


class _Element(cssselect2.ElementWrapper):  # type: ignore[misc]  # the library has no types
    """An element with its names and id as plain attributes."""

    def __init__(self, etree_element: etree._Element, *others: object, **named: object) -> None:
        super().__init__(etree_element, *others, **named)
        namespace, _, name = str(etree_element.tag).rpartition("}")
        self.local_name = name
        self.namespace_url = namespace[1:]
        self.id = etree_element.get("id")


def selectable(element: etree._Element) -> ElementWrapper:
    """An element tree as selectors see it."""
    return _Element.from_xml_root(element)


def _plain(data: bytes, name: str, most: int) -> bytes:
    """The bytes of the XML, at most so many."""
    if len(data) > most:
        raise too_large(len(data), most, name)
    try:
        return unpacked(data, most)
    except TooLargeError:
        raise too_large("the compressed file unpacks to more", most, name) from None
    except DamagedPackageError:
        found = "the compressed drawing (gzip) is cut off or damaged"
        raise wrong(found, "copy or export it again", place=Place(name)) from None


def _tree(data: bytes, name: str, deepest: int) -> etree._Element:
    # libxml2 watches how entities grow only while its own limits are on.
    huge = b"<!ENTITY" not in data and b"<\0!\0E\0N\0T\0I\0T\0Y" not in data
    deepest = deepest if huge else min(deepest, _DEEPEST_WITH_ENTITIES)
    parser = _parser(huge=huge)
    try:
        tree = etree.fromstring(data, parser)
        return tree if huge or not holds_markup(tree) else _with_entities(data, name, deepest)
    except etree.XMLSyntaxError as error:
        # The log of the error holds those of earlier drawings too; that of its parser does not.
        kinds = {entry.type for entry in parser.error_log}
        if kinds == {etree.ErrorTypes.WAR_NS_URI} and huge:
            return etree.fromstring(data, _parser(huge=huge, recover=True))
        if kinds <= _MENDED and not huge:
            return _with_entities(data, name, deepest)
        line, column = error.position
        place = Place(name, line or None, column or None)
        found, remedy = _explained(str(error.msg), data, deepest)
        raise wrong(found, remedy, place=place) from None
    except (ValueError, LookupError) as error:
        raise wrong(
            f"the file cannot be read as XML: {error}", _REMEDY, place=Place(name)
        ) from None


def _parser(*, huge: bool, recover: bool = False) -> etree.XMLParser:
    return etree.XMLParser(
        resolve_entities="internal",
        no_network=True,
        load_dtd=False,
        huge_tree=huge,
        remove_comments=True,
        remove_pis=True,
        recover=recover,
    )


def _with_entities(data: bytes, name: str, deepest: int) -> etree._Element:
    try:
        return tree_with_entities(data, deepest)
    except NestedTooDeepError:
        found, remedy = _explained("depth", data, deepest)
        raise wrong(found, remedy, place=Place(name)) from None
    except expat.ExpatError as error:
        found, remedy = _explained(expat.errors.messages[error.code], data, deepest)
        place = Place(name, error.lineno, error.offset + 1)
        raise wrong(found, remedy, place=place) from None


def _explained(message: str, data: bytes, deepest: int) -> tuple[str, str]:
    plain = message.partition(", line ")[0].strip().rstrip(".")
    if "depth" in plain:
        return f"groups are nested more than {deepest} deep", "ungroup the drawing"
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


def _check_depth(root: etree._Element, name: str, deepest: int) -> None:
    depth = 0
    for event, element in etree.iterwalk(root, events=("start", "end")):
        depth += 1 if event == "start" else -1
        if depth > deepest:
            remedy = "ungroup the drawing, or raise limits: depth in the recipe"
            found = f"groups are nested more than {deepest} deep"
            raise wrong(found, remedy, place=Place(name, element.sourceline))
