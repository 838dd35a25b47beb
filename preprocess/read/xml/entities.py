"""Markup within internal entities, in the namespaces that hold where it is put in.

libxml2 parses such markup by itself, without them. Source: Namespaces in XML 1.0, section 6.2.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any
from xml.parsers import expat

from lxml import etree

if TYPE_CHECKING:
    from collections.abc import Mapping

_BETWEEN = "}"
"""Character that the parser puts between a namespace and a name."""


class NestedTooDeepError(Exception):
    """Elements are nested deeper than asked."""


def holds_markup(tree: etree._Element) -> bool:
    """Test whether a document declares an internal entity that holds elements."""
    declared = tree.getroottree().docinfo.internalDTD
    return declared is not None and any("<" in (e.content or "") for e in declared.iterentities())


def tree_with_entities(data: bytes, deepest: int) -> etree._Element:
    """Parse a document whose entities may hold elements; opens nothing.

    Raises:
        expat.ExpatError: the document is damaged, grows too much, or reaches out of the file.
        NestedTooDeepError: elements are nested too deep.
    """
    return _Tree(deepest).of(data)


class _Tree:
    """Builds a tree from the events of a parser that knows namespaces; its own limits hold."""

    def __init__(self, deepest: int) -> None:
        self._deepest, self._depth = deepest, 0
        self._builder = etree.TreeBuilder()
        self._open: Any = self._builder.start  # the stubs do not know that it returns the element
        self._parser = parser = expat.ParserCreate(namespace_separator=_BETWEEN)
        parser.buffer_text = True
        parser.StartElementHandler = self._start
        parser.EndElementHandler = self._end
        parser.CharacterDataHandler = self._builder.data
        parser.ExternalEntityRefHandler = lambda *_: 0

    def of(self, data: bytes) -> etree._Element:
        """The outermost element of a document."""
        self._parser.Parse(data, True)  # noqa: FBT003 - the last piece
        return self._builder.close()

    def _start(self, name: str, attributes: Mapping[str, str]) -> None:
        self._depth += 1
        if self._depth > self._deepest:
            raise NestedTooDeepError
        named = {_full(key): value for key, value in attributes.items()}
        self._open(_full(name), named).sourceline = self._parser.CurrentLineNumber

    def _end(self, name: str) -> None:
        self._depth -= 1
        self._builder.end(_full(name))


def _full(name: str) -> str:
    """A name as the tree writes it: {namespace}local."""
    return f"{{{name}" if _BETWEEN in name else name
