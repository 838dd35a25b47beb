"""The modules of the page as one script, so that a page of one file needs no other and no build."""

from __future__ import annotations

import posixpath
import re
from importlib.resources import files

_ROOM = "preprocess.playback"
_IMPORT = re.compile(r"^import \{[^}]*\} from '(\.[^']+)';\n", re.MULTILINE)
_EXPORT = re.compile(r"^export (?=(?:async )?function |const |class )", re.MULTILINE)


def page_script(entry: str = "page/scripts/app.mjs") -> str:
    """A module of the room and all that it imports, each once and behind what it needs.

    Names at the top level are unique over all modules, for they share one scope here.
    """
    found: dict[str, str] = {}
    _collect(entry, found)
    return "\n".join(found.values())


def _collect(path: str, found: dict[str, str]) -> None:
    if path in found:
        return
    text = files(_ROOM).joinpath(path).read_text("utf-8")
    for name in _IMPORT.findall(text):
        _collect(posixpath.normpath(posixpath.join(posixpath.dirname(path), name)), found)
    found[path] = _EXPORT.sub("", _IMPORT.sub("", text)).strip() + "\n"
