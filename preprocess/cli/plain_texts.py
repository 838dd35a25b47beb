"""Texts and flags of the command line, taken as they are typed.

Typer would load a library that checks types, which takes as long as reading a drawing.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, get_args, get_origin

if TYPE_CHECKING:
    from collections.abc import Iterable


class _AsTyped:
    """Stands in for typer's own check of a text, a list of texts, or a flag."""

    @staticmethod
    def coerce(value: Any, param: Any, ctx: Any) -> Any:  # noqa: ARG004 - as typer calls it
        """The value itself; an empty list where none was typed."""
        if param.multiple or param.nargs == -1:
            return [str(one) for one in value or ()]
        return value


def take_as_typed(params: Iterable[Any]) -> None:
    """Spare texts and flags the check of their type; a typer that checks otherwise still does."""
    for param in params:
        kind = getattr(getattr(param, "type_descriptor", None), "annotation", None)
        plain = kind in (str, bool) or (get_origin(kind) is list and get_args(kind) == (str,))
        if plain and hasattr(param, "get_runtime_param"):
            param.get_runtime_param = _AsTyped
