"""The README for package indexes, without pictures, and without links until there is an address."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path

HOME = ""
"""Address of the repository's files, once it has one, such as "https://…/blob/main/"."""

_MADE = "<!-- Made from README.md by `python -m tests.fresh_docs --write`. -->\n\n"
_WHERE = """
This is the README without its pictures. Files that it names, such as docs/use/start.md, lie in the
source distribution and in the checkout.
"""


def page(root: Path) -> str:
    """The page docs/project/description.md."""
    text = (root / "README.md").read_text("utf-8")
    named = dict(re.findall(r"^\[([^\]]+)\]: (\S+)$", text, re.MULTILINE))
    text = re.sub(r"^\[[^\]]+\]: \S+\n", "", text, flags=re.MULTILINE)
    text = re.sub(r"^!\[[^\]]*\]\[[^\]]*\]\n", "", text, flags=re.MULTILINE)
    text = text.replace("# evenmark\n", f"# evenmark\n{_WHERE}", 1)
    text = re.sub(r"\[([^\]]+)\]\(([^)]+)\)", lambda m: _link(m[1], m[2]), text)
    text = re.sub(
        r"^\| \[([^\]]+)\] \|",
        lambda m: f"| {_link(m[1], named[m[1]], short=True)} |",
        text,
        flags=re.MULTILINE,
    )
    return _MADE + re.sub(r"\n{3,}", "\n\n", text)


def _link(name: str, target: str, *, short: bool = False) -> str:
    if target.startswith("https:"):
        return f"[{name}]({target})"
    if HOME:
        return f"[{name}]({HOME}{target})"
    return name if short or name == target else f"{name} ({target})"
