"""Mixed colours, `color-mix()` of two. Source: CSS Color 5, section 3, and 4, section 12."""

from __future__ import annotations

import colorsys
import math
from typing import TYPE_CHECKING, NamedTuple

from tinycss2 import color5, parse_one_component_value

from preprocess.read.style.colour_spaces import space_of_srgb, srgb_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tinycss2.ast import Node

_HUE_AT = {"hsl": 0, "hwb": 0, "lch": 2, "oklch": 2}
"""Where the hue stands among the three coordinates."""

_GREY = {"hsl": (1, 1e-3), "lch": (1, 1.5e-3), "oklch": (1, 4e-6)}
"""Which coordinate says that a colour is grey, and below what it is: its hue means nothing then."""

_RECTANGULAR = ("srgb", "srgb-linear", "display-p3", "lab", "oklab", "xyz", "xyz-d50", "xyz-d65")
_SPACES = {*_RECTANGULAR, *_HUE_AT}
_WAYS = {"shorter", "longer", "increasing", "decreasing"}
_DEEPEST = 16
_WHOLE = 100.0

Rgb = tuple[float, float, float]


class Mixed(NamedTuple):
    """Red, green and blue of sRGB, beyond 0 to 1 out of its gamut, and an opacity."""

    rgb: Rgb
    alpha: float


class _Part(NamedTuple):
    """One of two colours: three coordinates (None is missing), opacity, share in per cent."""

    at: tuple[float | None, ...]
    alpha: float
    share: float | None


def mixed_colour(text: str, current: str) -> Mixed | None:
    """The colour of a `color-mix()`; None when it is none that can be read.

    Args:
        text: the value.
        current: the colour that `currentcolor` stands for.
    """
    return _mixed(parse_one_component_value(text, skip_comments=True), current, _DEEPEST)


def plain_srgb(colour: color5.Color) -> Rgb | None:
    """Red, green and blue of a parsed colour, as far out of the gamut as it lies."""
    known = srgb_of(colour.space, colour.coordinates)
    if known is not None:
        return known
    try:
        red, green, blue = (float(value or 0.0) for value in colour.to("srgb").coordinates)
    except (NotImplementedError, ValueError):
        return None
    return red, green, blue


def _mixed(token: Node, current: str, deepest: int) -> Mixed | None:
    if token.type != "function" or token.lower_name != "color-mix" or not deepest:
        return None
    method, *colours = _by_comma(token.arguments)
    words = [one.lower_value for one in method if one.type == "ident"]
    if len(words) != len(method) or len(colours) != 2 or words[:1] != ["in"]:  # noqa: PLR2004
        return None
    space, way = (words[1:2] or [""])[0], "shorter"
    if len(words) == 4 and words[3] == "hue" and words[2] in _WAYS and space in _HUE_AT:  # noqa: PLR2004
        way = words[2]
    elif len(words) != 2 or space not in _SPACES:  # noqa: PLR2004
        return None
    parts = [_part(one, space, current, deepest - 1) for one in colours]
    first, second = parts
    return None if first is None or second is None else _mix(first, second, space, way)


def _by_comma(tokens: Sequence[Node]) -> list[list[Node]]:
    found: list[list[Node]] = [[]]
    for token in tokens:
        if token.type == "literal" and token.value == ",":
            found.append([])
        elif token.type not in {"whitespace", "comment"}:
            found[-1].append(token)
    return found


def _part(tokens: list[Node], space: str, current: str, deepest: int) -> _Part | None:
    shares = [one.value for one in tokens if one.type == "percentage"]
    colours = [one for one in tokens if one.type != "percentage"]
    if len(colours) != 1 or len(shares) > 1 or any(not 0 <= x <= _WHOLE for x in shares):
        return None
    share, (token,) = (shares[0] if shares else None), colours
    if token.type == "function" and token.lower_name == "color-mix":
        inner = _mixed(token, current, deepest)
        return inner and _Part(_there(inner.rgb, space), inner.alpha, share)
    parsed = color5.parse_color(token, color_schemes=["light"])
    if parsed == "currentcolor":
        parsed = color5.parse_color(current, color_schemes=["light"])
    if parsed is None or isinstance(parsed, str):
        return None
    rgb, alpha = plain_srgb(parsed), 1.0 if parsed.alpha is None else float(parsed.alpha)
    if rgb is None:
        return None
    if parsed.space == space:
        return _Part(_without_idle_hue(tuple(parsed.coordinates), space), alpha, share)
    return _Part(_there(rgb, space), alpha, share)


def _there(rgb: Rgb, space: str) -> tuple[float | None, ...]:
    """Coordinates in the space of the mix; the hue of a grey is missing."""
    if space in {"hsl", "hwb"}:
        hue, light, saturation = colorsys.rgb_to_hls(*rgb)
        white, black = _WHOLE * min(rgb), _WHOLE * (1 - max(rgb))
        rest = (_WHOLE * saturation, _WHOLE * light) if space == "hsl" else (white, black)
        return _without_idle_hue((360 * hue, *rest), space)
    return _without_idle_hue(space_of_srgb(space, rgb), space)


def _without_idle_hue(at: tuple[float | None, ...], space: str) -> tuple[float | None, ...]:
    """No hue where there is no colour: it takes that of the other colour."""
    if space == "hwb":
        idle = None not in at and (at[1] or 0.0) + (at[2] or 0.0) >= _WHOLE - 1e-3
    else:
        which, least = _GREY.get(space, (0, -math.inf))
        idle = (grey := at[which]) is not None and abs(grey) <= least
    return tuple(None if idle and i == _HUE_AT[space] else value for i, value in enumerate(at))


def _mix(one: _Part, other: _Part, space: str, way: str) -> Mixed | None:
    """Two colours, weighed by their opacities; shares below 100 % together make them paler."""
    first, second = one.share, other.share
    if first is None:
        first = _WHOLE / 2 if second is None else _WHOLE - second
    second = _WHOLE - first if second is None else second
    total = first + second
    share = second / total if total else 0.5
    alpha = one.alpha + (other.alpha - one.alpha) * share
    found = []
    for i, (a, b) in enumerate(zip(one.at, other.at, strict=True)):
        a, b = (b if a is None else a), (a if b is None else b)  # noqa: PLW2901
        a, b = a or 0.0, b or 0.0  # noqa: PLW2901
        if i == _HUE_AT.get(space):
            found.append(a + _turn(a, b, way) * share)
        elif alpha > 0:
            found.append((a * one.alpha * (1 - share) + b * other.alpha * share) / alpha)
        else:
            found.append(0.0)
    rgb = _back(space, found)
    return rgb and Mixed(rgb, alpha * min(1.0, total / _WHOLE))


def _turn(a: float, b: float, way: str) -> float:
    """Degrees from one hue to the other. Source: CSS Color 4, section 12.4."""
    on = (b - a) % 360
    match way:
        case "increasing":
            return on
        case "decreasing":
            return on - 360 if on else 0.0
        case "shorter":
            return on if on <= 180 else on - 360  # noqa: PLR2004
    return on if on > 180 or on == 0 else on - 360  # noqa: PLR2004


def _back(space: str, at: Sequence[float]) -> Rgb | None:
    if space == "srgb":
        red, green, blue = at
        return red, green, blue
    return plain_srgb(color5.Color(space, tuple(at), 1.0))
