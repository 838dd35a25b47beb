"""Fonts that a drawing carries within itself, as data in its style sheets.

Source: CSS Fonts 4, section 4. Fonts that lie elsewhere are not fetched.
"""

from __future__ import annotations

import base64
import binascii
import re
from dataclasses import replace
from typing import TYPE_CHECKING
from urllib.parse import unquote_to_bytes

import tinycss2

from preprocess.read.fonts.faces import Face, Range, font_faces
from preprocess.read.fonts.matching import parse_font_families

if TYPE_CHECKING:
    from collections.abc import Iterator

    from cssselect2 import ElementWrapper


_DATA = re.compile(r"""url\(\s*["']?data:([^,"')]*),([^"')]*)["']?\s*\)""")
_WORDS = {"normal": 400.0, "bold": 700.0}

FontDescriptors = dict[str, str]


def embedded_faces(root: ElementWrapper) -> Iterator[Face]:
    """The faces whose data the @font-face rules of a drawing hold, under the names given there."""
    for said in _rules(root):
        names = parse_font_families(said.get("font-family", ""))
        data = _data(said.get("src", ""))
        if not names or data is None:
            continue
        for face in font_faces(None, data)[:1]:
            yield replace(
                face,
                families=frozenset(name.casefold() for name in names),
                full_names=frozenset(),
                weight=_weight(said.get("font-weight", "normal")),
                slanted=said.get("font-style", "normal").lower().startswith(("italic", "oblique")),
            )


def _rules(root: ElementWrapper) -> Iterator[FontDescriptors]:
    for element in root.iter_subtree():
        if element.local_name != "style":
            continue
        text = "".join(element.etree_element.itertext())
        for rule in tinycss2.parse_stylesheet(text, skip_comments=True, skip_whitespace=True):
            if rule.type == "at-rule" and rule.lower_at_keyword == "font-face" and rule.content:
                held = tinycss2.parse_blocks_contents(rule.content)
                yield {
                    one.lower_name: tinycss2.serialize(one.value).strip()
                    for one in held
                    if one.type == "declaration"
                }


def _data(source: str) -> bytes | None:
    """The first data that a source list holds and that can be decoded."""
    for kind, text in _DATA.findall(source):
        packed = unquote_to_bytes(text)
        if not kind.lower().rstrip().endswith(";base64"):
            return packed
        try:
            return base64.b64decode(b"".join(packed.split()))
        except binascii.Error:
            continue
    return None


def _weight(text: str) -> Range:
    words = [_WORDS.get(word.lower(), word) for word in text.split()]
    try:
        found = [float(word) for word in words] or [_WORDS["normal"]]
    except ValueError:
        found = [_WORDS["normal"]]
    return found[0], found[-1]
