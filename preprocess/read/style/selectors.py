"""CSS selectors from text; what cssselect2 trips over is no selector either."""

from __future__ import annotations

from typing import TYPE_CHECKING

import cssselect2

if TYPE_CHECKING:
    from collections.abc import Sequence


def compiled(text: str) -> Sequence[cssselect2.CompiledSelector]:
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
