"""The properties that matter for geometry: inheritance, initial values, and what is valid.

Sources: SVG 2 property index, CSS Cascading and Inheritance 4. A declaration that is not valid
counts as not written, so that a weaker one shows.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from typing import Protocol

from preprocess.read.style.colours import colour_of
from preprocess.read.xml.lengths import NUMBER, is_known_unit, split_length

URL = re.compile(r"""url\(\s*(?:"([^"]*)"|'([^']*)'|([^)"'\s]*))\s*\)\s*(.*)\Z""", re.DOTALL)
CSS_PATH = re.compile(r"""path\(\s*(?:"([^"]*)"|'([^']*)')\s*\)\Z""", re.IGNORECASE)
WIDE = frozenset({"inherit", "initial", "unset", "revert", "revert-layer"})
_SPECIAL_PAINTS = frozenset({"none", "context-fill", "context-stroke"})


def url_reference(value: str) -> str | None:
    """The target of url(…) at the start of a value, with its #; None when there is none."""
    match = URL.match(value.strip())
    return (match[1] or match[2] or match[3] or "") if match else None


class Check(Protocol):
    """Says whether a value is valid; `css` when it stands in CSS, not in an attribute."""

    def __call__(self, value: str, *, css: bool) -> bool:
        """Whether the value counts."""
        ...


@dataclass(frozen=True, slots=True)
class Property:
    """One property: what it is where nothing is declared, and which values count."""

    initial: str
    inherited: bool
    check: Check


def _any(value: str, *, css: bool) -> bool:  # noqa: ARG001 - the shape of every check
    return True


def _in_css(value: str, *, css: bool) -> bool:  # noqa: ARG001 - the shape of every check
    """Properties that are no attributes; `rotate` is one of lettering, with another meaning."""
    return css


def _words(*allowed: str) -> Check:
    def check(value: str, *, css: bool) -> bool:  # noqa: ARG001
        return value.lower() in allowed

    return check


def _paint(value: str, *, css: bool) -> bool:
    low = value.lower()
    if low.startswith("url("):
        match = URL.match(value)
        return match is not None and (not match[4] or _paint(match[4], css=css))
    return low in _SPECIAL_PAINTS or colour_of(value) is not None


def _colour(value: str, *, css: bool) -> bool:  # noqa: ARG001 - the shape of every check
    return colour_of(value) is not None


def _reference(value: str, *, css: bool) -> bool:  # noqa: ARG001 - the shape of every check
    return value.lower() == "none" or URL.match(value) is not None


def _share(value: str, *, css: bool) -> bool:  # noqa: ARG001 - the shape of every check
    split = split_length(value)
    return split is not None and split[1] in {"", "%"}


def _length(*words: str, negative: bool = True, bare: bool = True) -> Check:
    """A check for lengths; without `bare`, CSS wants a unit on all but 0."""

    def check(value: str, *, css: bool) -> bool:
        if value.lower() in words:
            return True
        split = split_length(value)
        if split is None or not is_known_unit(split[1]) or (split[0] < 0 and not negative):
            return False
        return bare or not css or split[0] == 0 or split[1] != ""

    return check


def _limit(value: str, *, css: bool) -> bool:  # noqa: ARG001 - the shape of every check
    return bool(re.fullmatch(NUMBER, value)) and float(value) >= 1


def _weight(value: str, *, css: bool) -> bool:  # noqa: ARG001 - the shape of every check
    if value.lower() in {"normal", "bold", "bolder", "lighter"}:
        return True
    return bool(re.fullmatch(NUMBER, value)) and 1 <= float(value) <= _BOLDEST


_BOLDEST = 1000


def _spacing(value: str, *, css: bool) -> bool:
    return value.lower() == "normal" or _length()(value, css=css)


def _dashes(value: str, *, css: bool) -> bool:
    if value.lower() == "none":
        return True
    check = _length(negative=False)
    return all(check(part, css=css) for part in dash_parts(value))


def dash_parts(value: str) -> list[str]:
    """The lengths of a dash array."""
    return [part for part in re.split(r"\s*,\s*|\s+", value.strip()) if part]


def _path_data(value: str, *, css: bool) -> bool:
    return not css or value.lower() == "none" or CSS_PATH.match(value) is not None


_GEOMETRY = _length(bare=False)
_SIZE = _length("auto", negative=False, bare=False)
_RULE = _words("nonzero", "evenodd")


def _passed(initial: str, check: Check) -> Property:
    return Property(initial, inherited=True, check=check)


def _own(initial: str, check: Check) -> Property:
    return Property(initial, inherited=False, check=check)


_BOXES = _words("content-box", "border-box", "fill-box", "stroke-box", "view-box")

PROPERTIES = {
    "color": _passed("black", _colour),
    "fill": _passed("black", _paint),
    "fill-rule": _passed("nonzero", _RULE),
    "fill-opacity": _passed("1", _share),
    "stroke": _passed("none", _paint),
    "stroke-width": _passed("1", _length(negative=False)),
    "stroke-opacity": _passed("1", _share),
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
    "letter-spacing": _passed("normal", _spacing),
    "word-spacing": _passed("normal", _spacing),
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
    "opacity": _own("1", _share),
    "clip-path": _own("none", _any),
    "mask": _own("none", _any),
    "filter": _own("none", _any),
    "overflow": _own("", _words("visible", "hidden", "scroll", "auto", "clip")),
    "transform": _own("none", _any),
    "transform-origin": _own("", _any),
    "translate": _own("none", _in_css),
    "rotate": _own("none", _in_css),
    "scale": _own("none", _in_css),
    "transform-box": _own("view-box", _BOXES),
    "vector-effect": _own("none", _any),
    "mask-type": _own("luminance", _words("luminance", "alpha")),
    "stop-color": _own("black", _colour),
    "stop-opacity": _own("1", _share),
    "x": _own("0", _GEOMETRY),
    "y": _own("0", _GEOMETRY),
    "cx": _own("0", _GEOMETRY),
    "cy": _own("0", _GEOMETRY),
    "r": _own("0", _length(negative=False, bare=False)),
    "rx": _own("auto", _SIZE),
    "ry": _own("auto", _SIZE),
    "width": _own("auto", _SIZE),
    "height": _own("auto", _SIZE),
    "d": _own("none", _path_data),
}

CSS_ONLY = frozenset({"translate", "rotate", "scale"})
"""Properties that are no attributes, or mean something else as attributes."""

INHERITED = frozenset(name for name, prop in PROPERTIES.items() if prop.inherited)


@lru_cache(4096)
def is_valid(name: str, value: str, *, css: bool) -> bool:
    """Whether a declaration counts; `css` when it stands in CSS, not in an attribute."""
    return value.lower() in WIDE or PROPERTIES[name].check(value, css=css)
