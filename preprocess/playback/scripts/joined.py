"""Scripts joined to one module, so that a page of one file needs no other and no build."""

from __future__ import annotations

import re
from importlib.resources import files

_IMPORT = re.compile(r"^import .* from '\./[a-z-]+\.mjs';\n", re.MULTILINE)
"""One line to each: what it names stands before it in the joined module."""

_EXPORT = re.compile(r"^export (?=(?:async )?function |const |class )", re.MULTILINE)


def joined_scripts(*names: str) -> str:
    """Scripts of this folder as one, in an order in which each stands behind what it imports.

    Names at the top level are unique over all scripts.
    """
    folder = files(__package__)
    texts = [(folder / f"{name}.mjs").read_text("utf-8") for name in names]
    return "\n".join(_EXPORT.sub("", _IMPORT.sub("", text)) for text in texts)
