"""A rule for make that names every file read, written as GNU make reads names."""

from __future__ import annotations

import os
import re
from typing import TYPE_CHECKING

from preprocess.errors import Place, wrong

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

_EVERYWHERE = {
    b" ": rb"\ ",
    b"#": rb"\#",
    b":": rb"\:",
    b"$": b"$$",
    b"&": b"$(subst x,&,x)",
    b"=": b"$(subst x,=,x)",
    b";": b"\\$(EVENMARK_SEMICOLON)",
    b"\t": b"\\$(EVENMARK_TAB)",
}
_TARGET = _EVERYWHERE | {b"%": rb"\%"}
_INPUT = _EVERYWHERE | {b"|": rb"\|", b"[": rb"\["}
_FLAWS = {
    "holds a control character": r"[\x00-\x08\x0a-\x1f\x7f]",
    "would be a member of an archive to make": r"\(.*\)$",
    "ends so that make reads on into the next one": r"[\\ \t]$",
}
_VARIABLES = {
    b"$(EVENMARK_SEMICOLON)": b"EVENMARK_SEMICOLON := ;\n",
    b"$(EVENMARK_TAB)": b"EVENMARK_TAB := $(subst x,\t,x)\n",
}
"""Written out only where a name needs them: no other spelling of these two passes make."""


def makefile_rule(target: str, inputs: Iterable[Path | None]) -> bytes:
    """The rule, in the bytes of the file system.

    Each input also gets an empty rule, so that make does not stop when it is renamed.

    Raises:
        UserError: make cannot read one of the names, however it is written.
    """
    read = list(dict.fromkeys(str(path) for path in inputs if path is not None))
    _refuse(target, _FLAWS | {"stands for several files to make": r"[*?\[]"})
    for name in read:
        _refuse(name, _FLAWS)
    names = [_escaped(name, _INPUT) for name in read]
    empty = [_escaped(name, _TARGET) for name in read]
    empty += [name for name in names if rb"\[" in name]  # so make calls one that is gone
    lines = [_escaped(target, _TARGET) + b": " + b" ".join(names), *(name + b":" for name in empty)]
    rule = b"".join(line + b"\n" for line in lines)
    return b"".join(line for used, line in _VARIABLES.items() if used in rule) + rule


def _escaped(name: str, specials: dict[bytes, bytes]) -> bytes:
    """The name with its special characters written out, and backslashes before them doubled."""
    plain = "/" in name or ("." in name and not name.startswith("~"))
    data = os.fsencode(name if plain else f"./{name}")  # else a home, or a word of make's own
    found = b"".join(map(re.escape, specials))
    return re.sub(
        rb"(\\*)([" + found + rb"]|$)",
        lambda match: _piece(match[1], match[2], specials),
        data,
    )


def _piece(slashes: bytes, special: bytes, specials: dict[bytes, bytes]) -> bytes:
    written = specials.get(special, b"")
    ends = not special or written.startswith(b"\\")
    return (slashes + slashes if ends else slashes) + written


def _refuse(name: str, flaws: dict[str, str]) -> None:
    for flaw, pattern in flaws.items():
        if re.search(pattern, name):
            remedy = "rename it, or leave --depfile out"
            raise wrong(f"the name of this file {flaw}", remedy, place=Place(name))
