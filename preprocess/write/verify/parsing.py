"""The written _SVG as numbers again. Shares no code with the writer, on purpose.

Own pattern for numbers, own areas by the shoelace sum; only the dialect that the writer promises
is understood, and everything else is reported as foreign.
"""

from __future__ import annotations

import io
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from lxml import etree

if TYPE_CHECKING:
    from preprocess.arrays import Points


_SVG = "{http://www.w3.org/2000/svg}"
_HREF = "{http://www.w3.org/1999/xlink}href"

_NUMBER = r"-?(?:0|[1-9]\d*)(?:\.\d+)?"
_SUBPATH = re.compile(rf"\s*M({_NUMBER} {_NUMBER}(?: L{_NUMBER} {_NUMBER})+)( Z)?(?=\s|\Z)")
_ALLOWED = {
    "svg": {"version", "width", "height", "viewBox"},
    "g": {"id"},
    "title": set(),
    "path": {"id", "d", "fill", "fill-rule", "stroke", "stroke-width"},
    "image": {
        *("id", "x", "y", "width", "height", "transform", "preserveAspectRatio"),
        *("image-rendering", "style", _HREF),
    },
}
_MATRIX = re.compile(rf"matrix\(({_NUMBER}(?: {_NUMBER}){{5}})\)\Z")


class ForeignMarkup(ValueError):  # noqa: N818 - says what it is
    """Something that the writer's dialect does not have."""


@dataclass(frozen=True, slots=True)
class ReadPath:
    """One path: its paint, and its subpaths as (points n×2 in mm, closed)."""

    id: str
    fill: str
    stroke: str
    rule: str
    subpaths: tuple[tuple[Points, bool], ...]


@dataclass(frozen=True, slots=True)
class ReadImage:
    """One picture: its corners in mm (4 x 2), clockwise from the upper left one, and its data.

    `rendering` is how it asks to be drawn: attribute and style, both empty if it does not.
    """

    id: str
    corners: Points
    href: str
    rendering: tuple[str, str] = ("", "")


@dataclass(frozen=True, slots=True)
class ReadLayer:
    """One group: its id, its title, its paths or pictures in order."""

    id: str
    title: str
    paths: tuple[ReadPath, ...]
    images: tuple[ReadImage, ...] = ()


@dataclass(frozen=True, slots=True)
class ReadDrawing:
    """The whole file: page size in mm as (width, height) twice over, and the layers in order."""

    size: tuple[str, str]
    view: str
    layers: tuple[ReadLayer, ...]


def parse_written(data: bytes) -> ReadDrawing:
    """Read what the writer wrote.

    Raises:
        ForeignMarkup: no XML, or an element, attribute or path command beyond the dialect.
    """
    layers: list[ReadLayer] = []
    paths: list[ReadPath] = []
    images: list[ReadImage] = []
    title = ""
    head = ReadDrawing(("", ""), "", ())
    try:
        for _, node in etree.iterparse(
            io.BytesIO(data), resolve_entities=False, no_network=True, huge_tree=True
        ):
            name = _expected_name(node)
            if name == "title":
                title = node.text or ""
            elif name == "path":
                paths.append(_path(node))
            elif name == "image":
                images.append(_image(node))
            elif name == "g":
                layers.append(ReadLayer(node.get("id", ""), title, tuple(paths), tuple(images)))
                paths, images, title = [], [], ""
                node.clear(keep_tail=True)
            else:
                size = (node.get("width", ""), node.get("height", ""))
                head = ReadDrawing(size, node.get("viewBox", ""), tuple(layers))
    except etree.XMLSyntaxError as error:
        raise ForeignMarkup(f"the file is no XML: {error.msg}") from error
    if paths or images:
        raise ForeignMarkup("a path or picture stands outside the layers")
    return head


def _expected_name(node: etree._Element) -> str:
    name = str(node.tag).removeprefix(_SVG)
    if name not in _ALLOWED or not str(node.tag).startswith(_SVG):
        raise ForeignMarkup(f"unexpected element {node.tag!r}")
    extra = {str(key) for key in node.attrib} - _ALLOWED[name]
    if extra:
        raise ForeignMarkup(f"unexpected attribute {min(extra)!r} on {name}")
    parent = node.getparent()
    above = "" if parent is None else str(parent.tag).removeprefix(_SVG)
    if above != {"svg": "", "g": "svg", "title": "g", "path": "g", "image": "g"}[name]:
        raise ForeignMarkup(f"{name} stands inside {above or 'nothing'}")
    return name


def _path(node: etree._Element) -> ReadPath:
    return ReadPath(
        node.get("id", ""),
        node.get("fill", ""),
        node.get("stroke", ""),
        node.get("fill-rule", ""),
        _subpaths(node.get("d", "")),
    )


def _image(node: etree._Element) -> ReadImage:
    if node.get("preserveAspectRatio") != "none":
        raise ForeignMarkup("a picture keeps a ratio of its own")
    texts = [node.get(name, "") for name in ("x", "y", "width", "height")]
    if not all(re.fullmatch(_NUMBER, text) for text in texts):
        raise ForeignMarkup(f"a picture lies at {texts}")
    x, y, w, h = map(float, texts)
    corners = np.array([(x, y), (x + w, y), (x + w, y + h), (x, y + h)])
    text = node.get("transform")
    if text is not None:
        match = _MATRIX.match(text)
        if match is None:
            raise ForeignMarkup(f"unexpected transform {text!r}")
        numbers = np.array(match[1].split(" "), dtype=np.float64).reshape(3, 2)
        corners = corners @ numbers[:2] + numbers[2]
    rendering = node.get("image-rendering", ""), node.get("style", "")
    return ReadImage(node.get("id", ""), corners, node.get(_HREF, ""), rendering)


def _subpaths(text: str) -> tuple[tuple[Points, bool], ...]:
    """Subpaths of absolute M, L and Z, each command with its one pair of numbers."""
    subpaths, end = [], 0
    while end < len(text):
        match = _SUBPATH.match(text, end)
        if match is None:
            raise ForeignMarkup(f"unexpected path data near {text[end : end + 30]!r}")
        numbers = np.array(match[1].replace("L", "").split(" "), dtype=np.float64)
        subpaths.append((numbers.reshape(-1, 2), match[2] is not None))
        end = match.end()
    return tuple(subpaths)
