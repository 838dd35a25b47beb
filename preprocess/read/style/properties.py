"""Properties that affect geometry: inheritance, initial values, valid values.

Sources: SVG 2 property index, CSS Cascading and Inheritance 4. A declaration that is not valid
counts as not written, so that a weaker one shows.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from preprocess.read.style.blend_modes import BLEND_MODES
from preprocess.read.style.colours import parse_colour
from preprocess.read.xml.calc import is_calculated
from preprocess.read.xml.lengths import NUMBER, is_length, split_length, split_list

if TYPE_CHECKING:
    from collections.abc import Callable


URL = re.compile(r"""url\(\s*(?:"([^"]*)"|'([^']*)'|([^)"'\s]*))\s*\)\s*(.*)\Z""", re.DOTALL)
CSS_PATH = re.compile(r"""path\(\s*(?:"([^"]*)"|'([^']*)')\s*\)\Z""", re.IGNORECASE)
CSS_WIDE_KEYWORDS = frozenset({"inherit", "initial", "unset", "revert", "revert-layer"})
_SPECIAL_PAINTS = frozenset({"none", "context-fill", "context-stroke"})


def url_reference(value: str) -> str | None:
    """The target of url(…) at the start of a value, with its #; None when there is none."""
    match = URL.match(value.strip())
    return (match[1] or match[2] or match[3] or "") if match else None


def paint_fallback(value: str) -> str:
    """A paint without its reference: the value after url(…), or "none"."""
    match = URL.match(value)
    return (match[4] or "none") if match else value


@dataclass(frozen=True, slots=True)
class Property:
    """One property: its initial value, whether children inherit it, and which values are valid."""

    initial: str
    inherited: bool
    check: Callable[[str], bool]


def _any(_: str) -> bool:
    return True


def _words(*allowed: str) -> Callable[[str], bool]:
    return lambda value: value.lower() in allowed


def _paint(value: str) -> bool:
    low = value.lower()
    if low.startswith("url("):
        match = URL.match(value)
        return match is not None and (not match[4] or _paint(match[4]))
    return low in _SPECIAL_PAINTS or parse_colour(value) is not None


def _colour(value: str) -> bool:
    return parse_colour(value) is not None


def _reference(value: str) -> bool:
    return value.lower() == "none" or URL.match(value) is not None


def _alpha(value: str) -> bool:
    split = split_length(value)
    return split is not None and split[1] in {"", "%"}


def _length(*words: str, negative: bool = True) -> Callable[[str], bool]:
    def check(value: str) -> bool:
        if value.lower() in words:
            return True
        if not is_length(value):
            return False
        split = split_length(value)
        # what is calculated and below zero counts as zero
        return negative or is_calculated(value) or (split is not None and split[0] >= 0)

    return check


def _limit(value: str) -> bool:
    return bool(re.fullmatch(NUMBER, value)) and float(value) >= 1


def _weight(value: str) -> bool:
    if value.lower() in {"normal", "bold", "bolder", "lighter"}:
        return True
    return bool(re.fullmatch(NUMBER, value)) and 1 <= float(value) <= _BOLDEST


_BOLDEST = 1000


def dash_parts(value: str) -> list[str]:
    """The lengths of a dash array."""
    return split_list(value)


def _dashes(value: str) -> bool:
    check = _length(negative=False)
    return value.lower() == "none" or all(check(part) for part in dash_parts(value))


def _css_path(value: str) -> bool:
    return value.lower() == "none" or CSS_PATH.match(value) is not None


_SPACING = _length("normal")
_SIZE = _length("auto", negative=False)
_RULE = _words("nonzero", "evenodd")


def _passed(initial: str, check: Callable[[str], bool]) -> Property:
    return Property(initial, inherited=True, check=check)


def _own(initial: str, check: Callable[[str], bool]) -> Property:
    return Property(initial, inherited=False, check=check)


_BOXES = _words("content-box", "border-box", "fill-box", "stroke-box", "view-box")

PROPERTIES = {
    "color": _passed("black", _colour),
    "fill": _passed("black", _paint),
    "fill-rule": _passed("nonzero", _RULE),
    "fill-opacity": _passed("1", _alpha),
    "stroke": _passed("none", _paint),
    "stroke-width": _passed("1", _length(negative=False)),
    "stroke-opacity": _passed("1", _alpha),
    "stroke-linecap": _passed("butt", _words("butt", "round", "square")),
    "stroke-linejoin": _passed("miter", _words("miter", "round", "bevel", "miter-clip", "arcs")),
    "stroke-miterlimit": _passed("4", _limit),
    "stroke-dasharray": _passed("none", _dashes),
    "stroke-dashoffset": _passed("0", _length()),
    "clip-rule": _passed("nonzero", _RULE),
    "visibility": _passed("visible", _words("visible", "hidden", "collapse")),
    "paint-order": _passed("normal", _any),
    "font-size": _passed("16px", _any),
    "font-family": _passed("serif", _any),
    "font-weight": _passed("normal", _weight),
    "font-style": _passed("normal", _any),
    "font-stretch": _passed("normal", _any),
    "font-variant": _passed("normal", _any),
    "font-feature-settings": _passed("normal", _any),
    "letter-spacing": _passed("normal", _SPACING),
    "word-spacing": _passed("normal", _SPACING),
    "text-anchor": _passed("start", _words("start", "middle", "end")),
    "text-transform": _passed("none", _any),
    "direction": _passed("ltr", _words("ltr", "rtl")),
    "white-space": _passed("", _any),
    "writing-mode": _passed("horizontal-tb", _any),
    "dominant-baseline": _passed("auto", _any),
    "alignment-baseline": _own("auto", _any),
    "baseline-shift": _own("baseline", _any),
    "text-decoration": _own("none", _any),
    "unicode-bidi": _own("normal", _any),
    "marker-start": _passed("none", _reference),
    "marker-mid": _passed("none", _reference),
    "marker-end": _passed("none", _reference),
    "display": _own("inline", _any),
    "opacity": _own("1", _alpha),
    "mix-blend-mode": _own("normal", _words(*BLEND_MODES)),
    "isolation": _own("auto", _words("auto", "isolate")),
    "clip-path": _own("none", _any),
    "mask": _own("none", _any),
    "filter": _own("none", _any),
    "overflow": _own("", _words("visible", "hidden", "scroll", "auto", "clip")),
    "transform": _own("none", _any),
    "transform-origin": _own("", _any),
    "translate": _own("none", _any),
    "rotate": _own("none", _any),
    "scale": _own("none", _any),
    "transform-box": _own("view-box", _BOXES),
    "vector-effect": _own("none", _any),
    "mask-type": _own("luminance", _words("luminance", "alpha")),
    "stop-color": _own("black", _colour),
    "stop-opacity": _own("1", _alpha),
    "x": _own("0", _length()),
    "y": _own("0", _length()),
    "cx": _own("0", _length()),
    "cy": _own("0", _length()),
    "r": _own("0", _length(negative=False)),
    "rx": _own("auto", _SIZE),
    "ry": _own("auto", _SIZE),
    "width": _own("auto", _SIZE),
    "height": _own("auto", _SIZE),
    "d": _own("none", _css_path),
}

CSS_ONLY = frozenset({"translate", "rotate", "scale"})
"""Properties that are no attributes; `rotate` is one of lettering, with another meaning."""

_NEEDS_UNIT = frozenset({"x", "y", "cx", "cy", "r", "rx", "ry", "width", "height"})
"""Lengths that CSS wants a unit on, but for 0; attributes may leave it out."""

INHERITED_PROPERTIES = frozenset(name for name, prop in PROPERTIES.items() if prop.inherited)


@lru_cache(4096)
def is_valid(name: str, value: str, *, css: bool) -> bool:
    """Test whether a value is valid for a property; `css` in style sheets, not in attributes."""
    if value.lower() in CSS_WIDE_KEYWORDS:
        return True
    if css and name in _NEEDS_UNIT:
        split = split_length(value)
        if split is not None and split[1] == "" and split[0] != 0:
            return False
    return (css or name not in CSS_ONLY) and PROPERTIES[name].check(value)
