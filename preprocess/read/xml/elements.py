"""Categories of elements, and conditional processing. Source: SVG 2, sections 5.9 and 5.10."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from cssselect2 import ElementWrapper

SVG_NAMESPACE = "http://www.w3.org/2000/svg"

SHAPES = frozenset({"rect", "circle", "ellipse", "line", "polyline", "polygon", "path"})
TEXT_CONTENT = frozenset({"text", "tspan", "textPath"})
DESCRIPTIVE = frozenset({"title", "desc", "metadata"})
_ANIMATION = frozenset(
    {"animate", "animateColor", "animateMotion", "animateTransform", "set", "discard", "mpath"}
)
_PAINT_SERVERS = frozenset(
    {"linearGradient", "radialGradient", "meshgradient", "pattern", "hatch", "solidcolor"}
)
_RESOURCES = frozenset({"clipPath", "mask", "marker", "filter", "defs", "symbol", "stop", "view"})
_OLD_FONTS = frozenset({"font", "font-face", "glyph", "missing-glyph", "altGlyphDef"})
_WITHIN_TEXT = frozenset({"tspan", "textPath", "tref"})

SILENT_IN_TEXT = DESCRIPTIVE | _ANIMATION | {"script", "style"}
"""Elements that show no letters inside a text."""

NEVER_RENDERED = frozenset(
    SILENT_IN_TEXT
    | (_PAINT_SERVERS | _RESOURCES | _OLD_FONTS | _WITHIN_TEXT)
    | {"cursor", "color-profile"}
)
"""Elements that draw nothing where they stand."""

_LANGUAGE = "en"


def is_svg(element: ElementWrapper, namespace: str | None) -> bool:
    """Whether an element belongs to SVG, or to the namespace of the outermost svg."""
    return (element.namespace_url or None) in {SVG_NAMESPACE, namespace}


def passes_conditions(element: ElementWrapper) -> bool:
    """Whether an element needs no extension, and suits readers of English."""
    attributes = element.etree_element.attrib
    if attributes.get("requiredExtensions", "").strip():
        return False
    languages = attributes.get("systemLanguage")
    if languages is None:
        return True
    spoken = [part.strip().lower() for part in languages.split(",")]
    return any(part == _LANGUAGE or part.startswith(f"{_LANGUAGE}-") for part in spoken)
