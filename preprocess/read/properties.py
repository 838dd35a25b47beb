"""The properties that matter for geometry: inheritance, initial values, and what is valid.

Sources: SVG 2 property index, CSS Cascading and Inheritance 4. A declaration that is not valid
counts as not written, so that a weaker one shows.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from preprocess.read.colours import colour_of
from preprocess.read.lengths import NUMBER, is_known_unit, split_length

if TYPE_CHECKING:
    from collections.abc import Callable

URL = re.compile(r"""url\(\s*(?:"([^"]*)"|'([^']*)'|([^)"'\s]*))\s*\)\s*(.*)\Z""", re.DOTALL)
WIDE = frozenset({"inherit", "initial", "unset", "revert", "revert-layer"})
SPECIAL_PAINTS = frozenset({"none", "context-fill", "context-stroke"})


@dataclass(frozen=True, slots=True)
class Property:
    """One property; `check` says whether a value is valid, `css` whether it came from CSS."""

    initial: str
    inherited: bool
    check: Callable[[str, bool], bool]


def _any(_: str, __: bool) -> bool:  # noqa: FBT001 - the shape of every check
    return True


def _words(*allowed: str) -> Callable[[str, bool], bool]:
    return lambda value, _: value.lower() in allowed


def _paint(value: str, _: bool) -> bool:  # noqa: FBT001
    low = value.lower()
    if low.startswith("url("):
        match = URL.match(value)
        return match is not None and (not match[4] or _paint(match[4], False))  # noqa: FBT003
    return low in SPECIAL_PAINTS or colour_of(value) is not None


def _colour(value: str, _: bool) -> bool:  # noqa: FBT001
    return colour_of(value) is not None


def _reference(value: str, _: bool) -> bool:  # noqa: FBT001
    return value.lower() == "none" or URL.match(value) is not None


def _share(value: str, _: bool) -> bool:  # noqa: FBT001
    split = split_length(value)
    return split is not None and split[1] in {"", "%"}


def _length(*words: str, negative: bool = True, bare: bool = True) -> Callable[[str, bool], bool]:
    """A check for lengths; without `bare`, CSS wants a unit on all but 0."""

    def check(value: str, css: bool) -> bool:  # noqa: FBT001
        if value.lower() in words:
            return True
        split = split_length(value)
        if split is None or not is_known_unit(split[1]) or (split[0] < 0 and not negative):
            return False
        return bare or not css or split[0] == 0 or split[1] != ""

    return check


def _limit(value: str, _: bool) -> bool:  # noqa: FBT001
    return bool(re.fullmatch(NUMBER, value)) and float(value) >= 1


def _dashes(value: str, _: bool) -> bool:  # noqa: FBT001
    if value.lower() == "none":
        return True
    check = _length(negative=False)
    return all(check(part, False) for part in dash_parts(value))  # noqa: FBT003


def dash_parts(value: str) -> list[str]:
    """The lengths of a dash array."""
    return [part for part in re.split(r"\s*,\s*|\s+", value.strip()) if part]


_GEOMETRY = _length(bare=False)
_SIZE = _length("auto", negative=False, bare=False)
_RULE = _words("nonzero", "evenodd")

PROPERTIES = {
    "color": Property("black", True, _colour),
    "fill": Property("black", True, _paint),
    "fill-rule": Property("nonzero", True, _RULE),
    "fill-opacity": Property("1", True, _share),
    "stroke": Property("none", True, _paint),
    "stroke-width": Property("1", True, _length(negative=False)),
    "stroke-opacity": Property("1", True, _share),
    "stroke-linecap": Property("butt", True, _words("butt", "round", "square")),
    "stroke-linejoin": Property(
        "miter", True, _words("miter", "round", "bevel", "miter-clip", "arcs")
    ),
    "stroke-miterlimit": Property("4", True, _limit),
    "stroke-dasharray": Property("none", True, _dashes),
    "stroke-dashoffset": Property("0", True, _length()),
    "clip-rule": Property("nonzero", True, _RULE),
    "visibility": Property("visible", True, _words("visible", "hidden", "collapse")),
    "paint-order": Property("normal", True, _any),
    "font-size": Property("16px", True, _any),
    "marker-start": Property("none", True, _reference),
    "marker-mid": Property("none", True, _reference),
    "marker-end": Property("none", True, _reference),
    "display": Property("inline", False, _any),
    "opacity": Property("1", False, _share),
    "clip-path": Property("none", False, _any),
    "mask": Property("none", False, _any),
    "filter": Property("none", False, _any),
    "overflow": Property("", False, _words("visible", "hidden", "scroll", "auto", "clip")),
    "transform": Property("none", False, _any),
    "transform-origin": Property("", False, _any),
    "transform-box": Property(
        "view-box",
        False,
        _words("content-box", "border-box", "fill-box", "stroke-box", "view-box"),
    ),
    "vector-effect": Property("none", False, _any),
    "mask-type": Property("luminance", False, _words("luminance", "alpha")),
    "stop-color": Property("black", False, _colour),
    "stop-opacity": Property("1", False, _share),
    "x": Property("0", False, _GEOMETRY),
    "y": Property("0", False, _GEOMETRY),
    "cx": Property("0", False, _GEOMETRY),
    "cy": Property("0", False, _GEOMETRY),
    "r": Property("0", False, _length(negative=False, bare=False)),
    "rx": Property("auto", False, _SIZE),
    "ry": Property("auto", False, _SIZE),
    "width": Property("auto", False, _SIZE),
    "height": Property("auto", False, _SIZE),
    "d": Property("none", False, _any),
}

INHERITED = frozenset(name for name, prop in PROPERTIES.items() if prop.inherited)


@lru_cache(65536)
def is_valid(name: str, value: str, *, css: bool) -> bool:
    """Whether a declaration counts; `css` when it stands in CSS, not in an attribute."""
    return value.lower() in WIDE or PROPERTIES[name].check(value, css)
