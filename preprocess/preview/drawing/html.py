"""HTML pages from templates: all text is escaped, nothing is fetched."""

from __future__ import annotations

import unicodedata
from functools import partial
from importlib.resources import files
from typing import Any

from jinja2 import Environment, FunctionLoader, StrictUndefined
from markupsafe import Markup

_SHARED = "preprocess.preview"
"""Whose templates others may include."""

_NEVER_TEXT = {"Cc", "Cs", "Cn"}


def render_page(package: str, name: str, /, **values: Any) -> bytes:
    """Fill in a template of a package, which may include those of the previews; UTF-8."""
    environment = Environment(
        loader=FunctionLoader(partial(_text, _SHARED)),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=_printable,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    template = environment.from_string(_text(package, name))
    return template.render(**values).encode()


def own_file(package: str, name: str) -> Markup:
    """A style sheet or script of ours, to stand in a page as it is."""
    return Markup(_text(package, name))  # noqa: S704 - our own file


def _text(package: str, name: str) -> str:
    return (files(package) / "templates" / name).read_text("utf-8")


def _printable(value: object) -> object:
    """Text without control characters; markup of our own is left as it is."""
    if isinstance(value, Markup) or not isinstance(value, str):
        return value
    return "".join(c for c in value if c == "\n" or unicodedata.category(c) not in _NEVER_TEXT)
