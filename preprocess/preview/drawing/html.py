"""HTML pages from templates: all text is escaped, nothing is fetched."""

from __future__ import annotations

import base64
import hashlib
import unicodedata
from functools import cache, partial
from importlib.resources import files
from typing import Any

from jinja2 import Environment, FunctionLoader, StrictUndefined, Template
from lxml import etree
from markupsafe import Markup

from preprocess.plain_text import escape_directions
from preprocess.preview.drawing.canvas import SVG_NAMESPACE
from preprocess.preview.drawing.tied_units import tied

_SHARED = "preprocess.preview"
"""Whose templates others may include."""

_NEVER_TEXT = {"Cc", "Cs", "Cn"}


def render_page(package: str, name: str, /, **values: Any) -> bytes:
    """Fill in a template of a package, which may include those of the previews; UTF-8."""
    return _template(package, name).render(**values).encode()


@cache
def _template(package: str, name: str) -> Template:
    """A template of a package; kept, for a series fills in the same one for each drawing."""
    environment = Environment(
        loader=FunctionLoader(partial(_text, _SHARED)),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=_printable,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    return environment.from_string(_text(package, name))


def own_file(package: str, name: str) -> Markup:
    """A style sheet or script of ours, to stand in a page as it is."""
    return Markup(_text(package, name))  # noqa: S704 - our own file


def source_hash(text: str) -> str:
    """The hash of a script or style sheet in a page, as a content policy names it."""
    digest = hashlib.sha256(text.encode()).digest()
    return f"'sha256-{base64.b64encode(digest).decode()}'"


def inline_svg(text: str, prefix: str) -> Markup:
    """A picture to stand in a page: its ids get a prefix, so that no two pictures share one.

    It becomes one image for people who listen, with its title as name; titles of its groups stay
    for the pointer. Without a title it is decoration. The style sheet may use its size (--wide).
    """
    root = etree.fromstring(text.encode())
    for element in root.iter(etree.Element):
        if "id" in element.attrib:
            element.set("id", f"{prefix}-{element.get('id')}")
        for name, value in element.attrib.items():
            if "url(#" in value:
                element.set(name, value.replace("url(#", f"url(#{prefix}-"))
    root.set("style", f"--wide:{root.get('width')}")
    root.set("role", "img")
    title = root.find(f"{{{SVG_NAMESPACE}}}title")
    if title is None or not title.text:
        root.attrib.pop("role")
        root.set("aria-hidden", "true")
    else:
        title.set("id", f"{prefix}-title")
        root.set("aria-labelledby", f"{prefix}-title")
    return Markup(etree.tostring(root, encoding="unicode"))  # noqa: S704 - XML of our own


def _text(package: str, name: str) -> str:
    return (files(package) / "templates" / name).read_text("utf-8")


def _printable(value: object) -> object:
    """Text without control characters, numbers tied to their units.

    Markup of our own is left as it is, and so are the spaces of text in several lines: it is there
    to be copied.
    """
    if isinstance(value, Markup) or not isinstance(value, str):
        return value
    shown = (c for c in value if c == "\n" or unicodedata.category(c) not in _NEVER_TEXT)
    text = escape_directions("".join(shown))
    return text if "\n" in text else tied(text)
