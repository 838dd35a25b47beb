"""Geometry that no reader of SVG draws: in a strange namespace, or inside what has no children."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.read.messages.remarks import Remark, Remarks
from preprocess.read.xml.elements import (
    DESCRIPTIVE,
    GRADIENTS,
    SHAPES,
    SVG_NAMESPACE,
    TEXT_CONTENT,
    element_path,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from lxml import etree

    from preprocess.read.xml.document import SvgDocument

_GEOMETRY = SHAPES | {"text", "image", "use"}
_CHILDLESS = SHAPES | TEXT_CONTENT | GRADIENTS | {"image", "use", "stop", "filter", "style"}
_TOLD_OR_NO_DRAWING = DESCRIPTIVE | {"foreignObject"}
_LONGEST = 60


def remark_lost_geometry(document: SvgDocument, remarks: Remarks) -> None:
    """Name shapes, texts, images and uses that are left out because of where they stand."""
    lost = dict(_lost(document))
    if not lost:
        return
    for element in document.root.iter_subtree():
        found = element.etree_element
        if found in lost:
            why = lost[found][:_LONGEST]
            remarks.add(Remark("geometry-left-out", element_path(element), found.sourceline, why))


def _lost(document: SvgDocument) -> Iterator[tuple[etree._Element, str]]:
    """Each lost element and why; the outermost of those that stand in one another."""
    ours = _Names(document)
    for element in document.root.etree_element.iter(*[f"{{*}}{name}" for name in _GEOMETRY]):
        above = element.getparent()
        if above is None or (above.tag not in ours.childless and ours.has(above)):
            if ours.has(element) or ours.is_told(element):
                continue
            yield element, f"namespace {_split(element)[0] or 'missing'}"
        elif not ours.is_told(element):
            yield element, f"inside <{_split(above)[1]}>" + ours.strangeness(above)


class _Names:
    """Names as they are written in one document."""

    def __init__(self, document: SvgDocument) -> None:
        spaces = {SVG_NAMESPACE, document.namespace or ""}
        self._spaces = spaces
        self.childless = {f"{{{s}}}{n}" if s else n for s in spaces for n in _CHILDLESS}

    def has(self, element: etree._Element) -> bool:
        """Test whether an element belongs to SVG."""
        return _split(element)[0] in self._spaces

    def strangeness(self, element: etree._Element) -> str:
        """Addition to the name of an element of another namespace."""
        return "" if self.has(element) else " of another namespace"

    def is_told(self, element: etree._Element) -> bool:
        """Test whether something around it is no drawing, or is told as a whole."""
        around = list(element.iterancestors())
        if any(self.has(one) and _split(one)[1] in _TOLD_OR_NO_DRAWING for one in around):
            return True
        return any(_split(one)[1] in _GEOMETRY and not self.has(one) for one in around)


def _split(element: etree._Element) -> tuple[str, str]:
    """Namespace and local name of an element."""
    space, _, name = str(element.tag).rpartition("}")
    return space[1:], name
