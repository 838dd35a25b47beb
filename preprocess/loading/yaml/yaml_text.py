"""Plain data to YAML text, compactly: for people to read and to paste back."""

from __future__ import annotations

from io import StringIO
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.comments import CommentedMap, CommentedSeq

_ENDLESS = 1_000_000


def yaml_text(data: dict[str, Any]) -> str:
    """One line to a key, to each entry of a list, and to each mapping inside a mapping.

    What says nothing (an empty list or mapping) is left out. Lines are as long as they are.
    """
    writer = YAML()
    writer.width = _ENDLESS
    writer.indent(mapping=2, sequence=4, offset=2)
    out = StringIO()
    writer.dump(CommentedMap({key: _outer(held) for key, held in data.items() if _says(held)}), out)
    return out.getvalue()


def _says(value: Any) -> bool:
    return value not in ({}, [], ())


def _outer(value: Any) -> Any:
    """Lists entry by entry; a mapping of mappings key by key; others on one line."""
    if isinstance(value, list | tuple):
        return CommentedSeq([one_line(_named(held), terse=True) for held in value])
    if isinstance(value, dict) and all(isinstance(held, dict) for held in value.values()):
        return CommentedMap({key: one_line(held, terse=True) for key, held in value.items()})
    return one_line(value, terse=True)


def _named(entry: Any) -> Any:
    """An entry that is a name with nothing to it becomes the name alone, as of a pass."""
    if isinstance(entry, dict) and len(entry) == 1 and not any(map(_says, entry.values())):
        return next(iter(entry))
    return entry


def one_line(value: Any, *, terse: bool = False) -> Any:
    """Mappings and lists on one line; a terse one leaves out keys that say nothing."""
    if isinstance(value, dict):
        told = {key: held for key, held in value.items() if not terse or _says(held)}
        found: Any = CommentedMap({key: one_line(held, terse=terse) for key, held in told.items()})
    elif isinstance(value, list | tuple):
        found = CommentedSeq([one_line(held, terse=terse) for held in value])
    else:
        return value
    found.fa.set_flow_style()
    return found
