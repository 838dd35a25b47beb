"""Animations that begin otherwise than the drawing stands: named, and read as drawn."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from preprocess.read.messages.remarks import Remark, Remarks
from preprocess.read.xml.animation import active_at_start
from preprocess.read.xml.elements import element_path

if TYPE_CHECKING:
    from cssselect2 import ElementWrapper

    from preprocess.read.xml.document import SvgDocument

_MOVING = frozenset({"animate", "animateColor", "animateMotion", "animateTransform"})
_DECLARATION = re.compile(r"([\w-]+)\s*:\s*([^;]*[^;\s])")
_NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")


def remark_animations(document: SvgDocument, remarks: Remarks) -> None:
    """Name the elements that an animation other than `set` changes at time 0."""
    for element, target in active_at_start(document, _MOVING):
        if not _shows_the_same(element, target):
            name = target.id or element_path(target)
            line, what = target.etree_element.sourceline, str(element.local_name)
            remarks.add(Remark("animation-ignored", name, line, what))


def _shows_the_same(animation: ElementWrapper, target: ElementWrapper) -> bool:
    """Test whether an animation leaves its target at time 0 as it is drawn."""
    attributes, held = animation.etree_element.attrib, target.etree_element.attrib
    first = attributes.get("values", attributes.get("from", "")).partition(";")[0].strip()
    tag = animation.local_name
    if tag == "animateMotion":
        path = attributes.get("path", first)
        return bool(first or path) and _numbers(path)[:2] in {(), (0.0, 0.0)}
    if tag == "animateTransform":
        if attributes.get("additive") != "sum" and "transform" in held:
            return False
        kind = attributes.get("type", "translate")
        shown = _numbers(first)[:1] if kind == "rotate" else _numbers(first)
        return set(shown) <= {1.0 if kind == "scale" else 0.0}
    name = attributes.get("attributeName", "").strip()
    style = dict(_DECLARATION.findall(held.get("style", "")))
    return first in {"", style.get(name, held.get(name, ""))}


def _numbers(text: str) -> tuple[float, ...]:
    return tuple(map(float, _NUMBER.findall(text)))
