"""Scripts joined to one module, so that a page of one file needs no other and no build."""

from __future__ import annotations

import posixpath
import re
from importlib.resources import files

_IMPORT = re.compile(r"^import \{[^}]*\} from '(\.[^']+)\.mjs';\n", re.MULTILINE)
"""What it names stands before it in the joined module."""

_EXPORT = re.compile(r"^export (?=(?:async )?function |const |class )", re.MULTILINE)


def joined_scripts(*names: str) -> str:
    """Scripts and all that they import as one, each once and behind what it needs.

    Names at the top level are unique over all scripts, for they share one scope here.

    Args:
        names: paths as seen from this folder, without their ending.
    """
    found: dict[str, str] = {}
    for name in names:
        _collect(name, found)
    return "\n".join(found.values())


def _collect(path: str, found: dict[str, str]) -> None:
    if path in found:
        return
    text = files(__package__).joinpath(f"{path}.mjs").read_text("utf-8")
    for name in _IMPORT.findall(text):
        _collect(posixpath.normpath(posixpath.join(posixpath.dirname(path), name)), found)
    found[path] = _EXPORT.sub("", _IMPORT.sub("", text))
