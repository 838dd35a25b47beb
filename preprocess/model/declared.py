"""One declaration of a parameter: its type with unit, its bounds, its sentence, its default.

`Doc` is the sentence. `loading` reads such declarations to validate YAML, the command line to
explain them, and the docs to print them; nothing is written down twice.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar


@dataclass(frozen=True, slots=True)
class Doc:
    """Meaning of a parameter, in one sentence for the person who sets it."""

    text: str


class Declared:
    """Base of frozen dataclasses whose fields are read from YAML.

    A field whose name is a Python keyword ends in an underscore; the key in YAML does not.
    `retired` are keys that older files may still hold. `free` names the field that takes all keys
    that are not declared, as pairs of name and text: whoever knows their names must check them.
    """

    __slots__ = ()
    retired: ClassVar[tuple[str, ...]] = ()
    free: ClassVar[str | None] = None
