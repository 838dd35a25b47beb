"""Elements: categories, conditions, names, references. Source: SVG 2, sections 5.9 and 5.10."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from cssselect2 import ElementWrapper

SVG_NAMESPACE = "http://www.w3.org/2000/svg"

SHAPES = frozenset({"rect", "circle", "ellipse", "line", "polyline", "polygon", "path"})
TEXT_CONTENT = frozenset({"text", "tspan", "textPath"})
DESCRIPTIVE = frozenset({"title", "desc", "metadata"})
GRADIENTS = frozenset({"linearGradient", "radialGradient"})
_ANIMATION = frozenset(
    {"animate", "animateColor", "animateMotion", "animateTransform", "set", "discard", "mpath"}
)
_PAINT_SERVERS = GRADIENTS | {"meshgradient", "pattern", "hatch", "solidcolor"}
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
    """Test whether an element belongs to SVG, or to the namespace of the outermost svg."""
    return (element.namespace_url or None) in {SVG_NAMESPACE, namespace}


def passes_conditions(element: ElementWrapper) -> bool:
    """Test whether an element needs no extension, and suits readers of English."""
    attributes = element.etree_element.attrib
    if attributes.get("requiredExtensions", "").strip():
        return False
    languages = attributes.get("systemLanguage")
    if languages is None:
        return True
    spoken = [part.strip().lower() for part in languages.split(",")]
    return any(part == _LANGUAGE or part.startswith(f"{_LANGUAGE}-") for part in spoken)


def placed_children(element: ElementWrapper, place: str) -> Iterator[tuple[ElementWrapper, str]]:
    """The children of an element, each with its path such as "svg/g[2]/path[1]"."""
    seen: dict[str, int] = {}
    for child in element.iter_children():
        tag = child.local_name
        seen[tag] = count = seen.get(tag, 0) + 1
        yield child, f"{place}/{tag}[{count}]"


def element_path(element: ElementWrapper) -> str:
    """The element's id, or its path of positions from the root."""
    if element.id:
        return str(element.id)
    steps: list[str] = []
    found = element
    while found.parent is not None:
        tag = found.local_name
        same = [child for child in found.parent.iter_children() if child.local_name == tag]
        steps.append(f"{tag}[{same.index(found) + 1}]")
        found = found.parent
    return "/".join([found.local_name, *reversed(steps)])


def group_label(element: ElementWrapper) -> str | None:
    """The label that a drawing program gave to a group: an attribute with that local name."""
    return _named_attribute(element, "label")


def is_editor_layer(element: ElementWrapper) -> bool:
    """Test whether a drawing program shows a group among its layers."""
    return _named_attribute(element, "groupmode") == "layer"


def _named_attribute(element: ElementWrapper, local: str) -> str | None:
    """The value of an attribute by its local name, in any namespace."""
    for name, value in element.etree_element.attrib.items():
        if str(name).rpartition("}")[2] == local and value:
            return str(value)
    return None


_XLINK_HREF = "{http://www.w3.org/1999/xlink}href"


def href_of(element: ElementWrapper) -> str:
    """The target of an element; `href` goes before `xlink:href`."""
    attributes = element.etree_element.attrib
    return str(attributes.get("href", attributes.get(_XLINK_HREF, ""))).strip()


def referenced(href: str, by_id: Mapping[str, ElementWrapper]) -> ElementWrapper | None:
    """The element of this drawing that "#id" refers to; None for any other text."""
    return by_id.get(href[1:]) if href.startswith("#") else None


def template_chain(
    element: ElementWrapper, by_id: Mapping[str, ElementWrapper], kinds: frozenset[str]
) -> list[ElementWrapper]:
    """A paint server and its templates, nearest first; stops where the chain closes."""
    found, seen = [element], {element.etree_element}
    while True:
        target = by_id.get(href_of(found[-1])[1:])
        if target is None or target.local_name not in kinds or target.etree_element in seen:
            return found
        found.append(target)
        seen.add(target.etree_element)


def templated_attributes(chain: list[ElementWrapper]) -> dict[str, str]:
    """The attributes of a paint server, with missing ones taken from its templates."""
    found: dict[str, str] = {}
    for element in reversed(chain):
        found |= {str(name): str(value) for name, value in element.etree_element.attrib.items()}
    return found
