"""Style of each element, computed once for all siblings with the same rules.

Geometry properties and transforms differ from element to element; they are put in afterwards.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from preprocess.read.style.cascade import Cascade, attribute_declarations, cascade_declarations
from preprocess.read.style.computed import Style, compute_style, resolve_value
from preprocess.read.style.properties import CSS_WIDE_KEYWORDS, PROPERTIES

if TYPE_CHECKING:
    from cssselect2 import ElementWrapper

    from preprocess.read.xml.lengths import Units


_PLACING = frozenset(
    ("x", "y", "cx", "cy", "r", "rx", "ry", "width", "height", "d", "transform"),
)
"""Properties that belong to one element alone: nothing inherits them unasked."""

_PLAIN = frozenset({*PROPERTIES, "style"}) - _PLACING
_LONGEST_WIDE = max(map(len, CSS_WIDE_KEYWORDS))
_MOST_KEPT = 1000
"""Styles kept for the children of one element; more are worked out each time."""


@dataclass(frozen=True, slots=True)
class _Origin:
    """Parent of a style, and the placing properties that attributes do not change."""

    parent: Style
    fixed: frozenset[str]


def shared_style(cascade: Cascade, element: ElementWrapper, parent: Style, units: Units) -> Style:
    """The style of an element without its geometry attributes."""
    kept, attributes = parent.kept, element.etree_element.attrib.items()
    plain = tuple([pair for pair in attributes if pair[0] in _PLAIN])
    rules = cascade.rules(element)
    key = (tuple(map(id, rules)), plain)
    found = kept.get(key)
    if found is None:
        declared, wrong = cascade_declarations(rules, plain, element.local_name)
        style = compute_style(declared, parent, units)
        style.kept[_Origin] = _Origin(parent, _PLACING & declared.keys())
        found = (style, wrong)
        if len(kept) < _MOST_KEPT:
            kept[key] = found
    if found[1]:
        cascade.tell(element, found[1])
    shared: Style = found[0]
    return shared


def placed_style(cascade: Cascade, element: ElementWrapper, shared: Style, *, quiet: bool) -> Style:
    """The style of an element with its geometry attributes."""
    origin: _Origin = shared.kept[_Origin]
    attributes = element.etree_element.attrib.items()
    placing = [pair for pair in attributes if pair[0] in _PLACING]
    if not placing or origin.fixed is _PLACING:
        return shared
    declared, wrong = attribute_declarations(placing, element.local_name)
    if wrong and not quiet:
        cascade.tell(element, wrong)
    own = dict(shared.own)
    for name, text in declared.items():
        if name in origin.fixed:
            continue
        value = _value(name, text, origin.parent, shared)
        if value is not None:
            own[name] = value
    return Style(shared.passed, own, {_Origin: _Origin(origin.parent, _PLACING)})


def style_at(element: ElementWrapper, cascade: Cascade, units: Units) -> Style:
    """The style of an element where it stands in the document."""
    style = Style()
    for ancestor in (*element.ancestors, element):
        style = compute_style(cascade.declared(ancestor), style, units)
    return style


def _value(name: str, text: str, parent: Style, shared: Style) -> str | None:
    if "var(" in text or (len(text) <= _LONGEST_WIDE and text.lower() in CSS_WIDE_KEYWORDS):
        return resolve_value(name, text, parent, shared.passed)
    return text
