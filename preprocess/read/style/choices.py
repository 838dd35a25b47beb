"""The recipe's CSS selectors, asked of every element."""

from __future__ import annotations

from typing import TYPE_CHECKING

import cssselect2

from preprocess.errors import Complaint, UserError
from preprocess.read.style.selectors import compiled

if TYPE_CHECKING:
    from collections.abc import Iterable

    from cssselect2 import ElementWrapper

    from preprocess.model.options.reading import Wanted


class SelectorMatcher:
    """Compiled selectors by their text."""

    def __init__(self, texts: Iterable[str]) -> None:
        """Compile.

        Raises:
            UserError: one of them is no selector.
        """
        self._matcher = cssselect2.Matcher()
        self._any = False
        complaints = []
        for text in sorted(texts):
            try:
                selectors = compiled(text)
            except cssselect2.SelectorError as error:
                complaints.append(Complaint(f"{text!r} is no CSS selector: {error}", _REMEDY))
                continue
            for selector in selectors:
                self._matcher.add_selector(selector, text)
                self._any = True
        if complaints:
            raise UserError(complaints)

    def matching(self, element: ElementWrapper) -> frozenset[str]:
        """Which selectors match an element itself."""
        if not self._any:
            return frozenset()
        matches = self._matcher.match(element)
        return frozenset(text for _, _, pseudo, text in matches if pseudo is None)


_REMEDY = "write '#id', '.class' or the name of an element, in quotes"


def selectors_of(wanted: Wanted) -> frozenset[str]:
    """All selectors that the recipe uses."""
    layers = (rule.choose.select for rule in wanted.layers)
    parts = (part.outline for part in wanted.parts)
    texts = {*wanted.selectors, *wanted.keep_off, *layers, *parts}
    return frozenset(text for text in texts if isinstance(text, str))
