"""CSS selectors, compiled, and the recipe's selectors matched with elements."""

from __future__ import annotations

from typing import TYPE_CHECKING

import cssselect2
from cssselect2 import ElementWrapper

from preprocess.errors import Complaint, UserError

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from preprocess.model.options.reading import ReadingOptions


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
                selectors = compile_selectors(text)
            except cssselect2.SelectorError as error:
                complaints.append(Complaint(f"{text!r} is no CSS selector: {error}", _REMEDY))
                continue
            for selector in selectors:
                self._matcher.add_selector(selector, text)
                self._any = True
        if complaints:
            raise UserError(complaints)

    def matching(self, element: ElementWrapper) -> frozenset[str]:
        """The selectors that match an element itself."""
        if not self._any:
            return frozenset()
        matches = self._matcher.match(element)
        return frozenset(text for _, _, pseudo, text in matches if pseudo is None)


_REMEDY = "write '#id', '.class' or the name of an element, in quotes"


def recipe_selectors(options: ReadingOptions) -> frozenset[str]:
    """All selectors that the recipe uses."""
    layers = (rule.choose.select for rule in options.layers)
    parts = (text for part in options.parts for text in (part.drawn, part.guides))
    texts = {*options.selectors, *options.keep_off, *layers, *parts}
    return frozenset(text for text in texts if isinstance(text, str))


def compile_selectors(text: str) -> Sequence[cssselect2.CompiledSelector]:
    """A list of selectors, compiled.

    Raises:
        cssselect2.SelectorError: the text is no list of selectors.
    """
    try:
        return list(cssselect2.compile_selector_list(text))
    except (RecursionError, SyntaxError, MemoryError) as error:  # it is compiled as Python is
        raise cssselect2.SelectorError(text[:40], "it is nested too deep") from error
    except (StopIteration, AttributeError) as error:  # ":nth-child(+)" and ":nth-child(n+)"
        raise cssselect2.SelectorError(text, "a formula is broken off") from error
