"""Count of the elements that the uses of a drawing would draw, before any is drawn."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.errors import Place, wrong
from preprocess.read.xml.elements import NEVER_RENDERED, element_path, href_of, referenced

if TYPE_CHECKING:
    from collections.abc import Sequence

    from cssselect2 import ElementWrapper

    from preprocess.read.xml.document import SvgDocument

_HOLDERS = ("clipPath", "mask", "marker", "pattern")


def refuse_too_many_copies(document: SvgDocument, most: int) -> None:
    """Refuse a drawing whose uses would draw more elements than allowed.

    Raises:
        UserError: they would; says how many, and names the use that draws most.
    """
    if next(document.root.etree_element.iter("{*}use"), None) is None:
        return
    counter = _Counter(document)
    held = [one for one in document.root.iter_subtree() if one.local_name in _HOLDERS]
    for top in (document.root, *held):
        uses = counter.uses_below(top)
        drawn = sum(counter.drawn(use) for use in uses)
        if drawn > most:
            largest = max(uses, key=counter.drawn)
            place = Place(document.name, largest.etree_element.sourceline)
            number = str(drawn) if drawn < _COUNTED else f"over {_COUNTED}"
            found = f"uses would draw {number} elements, most of them {element_path(largest)}"
            remedy = "use fewer copies, or raise limits: copies in the recipe"
            raise wrong(f"{found}; {most} are allowed", remedy, place=place)


_COUNTED = 10**9
"""Larger numbers say no more."""


class _Counter:
    """Counts what each element draws, once; a use within itself draws nothing."""

    def __init__(self, document: SvgDocument) -> None:
        self._by_id = document.by_id
        self._drawn: dict[ElementWrapper, int] = {}

    def uses_below(self, top: ElementWrapper) -> list[ElementWrapper]:
        """The uses that an element holds itself."""
        found, stack = [], [top]
        while stack:
            element = stack.pop()
            if element.local_name == "use":
                found.append(element)
            stack.extend(_shown(element))
        return found

    def drawn(self, use: ElementWrapper) -> int:
        """Number of elements drawn through a use, itself left out."""
        stack, opened = [use], set()
        while stack:
            element = stack[-1]
            if element in self._drawn:
                stack.pop()
            elif element in opened:  # all within it is counted, but what leads back to it
                self._drawn[stack.pop()] = self._sum(element)
            else:
                opened.add(element)
                stack.extend(one for one in self._within(element) if one not in opened)
        return self._drawn[use]

    def _within(self, element: ElementWrapper) -> Sequence[ElementWrapper]:
        if element.local_name != "use":
            return _shown(element)
        target = referenced(href_of(element), self._by_id)
        return [] if target is None else [target]

    def _sum(self, element: ElementWrapper) -> int:
        return sum(1 + self._drawn.get(one, 0) for one in self._within(element))


def _shown(element: ElementWrapper) -> list[ElementWrapper]:
    """The children that are drawn where they stand."""
    return [
        child
        for child in element.iter_children()
        if child.local_name not in NEVER_RENDERED
        and child.etree_element.get("display", "").strip() != "none"
    ]
