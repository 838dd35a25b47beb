"""The page of a watched job: it shows the states that the server tells, and nothing else."""

from __future__ import annotations

from dataclasses import dataclass

from preprocess.preview.drawing.html import own_file, render_page, source_hash
from preprocess.preview.sheet.checklist import CAUTIONS

_PACKAGE = "preprocess.watch"


@dataclass(frozen=True, slots=True)
class WatchPage:
    """The bytes of a page, and the policy by which a browser runs and loads nothing else."""

    data: bytes
    policy: str


def watch_page(named: str) -> WatchPage:
    """The page, UTF-8 HTML; the same for all of one session.

    Args:
        named: recipe, or drawing, that the command names.
    """
    css = own_file("preprocess.preview", "sheet.css") + own_file(_PACKAGE, "watch.css")
    script = own_file(_PACKAGE, "watch.js")
    data = render_page(
        _PACKAGE, "watch.html", css=css, script=script, named=named, cautions=CAUTIONS
    )
    rules = (
        "default-src 'none'",
        f"script-src {source_hash(script)}",
        f"style-src {source_hash(css)}",
        "img-src 'self' data:",
        "connect-src 'self'",
        "frame-src 'self'",
        "base-uri 'none'",
        "form-action 'none'",
        "frame-ancestors 'none'",
    )
    return WatchPage(data, "; ".join(rules))
