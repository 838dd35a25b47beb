"""Affine maps as six numbers, and transform lists as SVG and CSS write them."""

from __future__ import annotations

import math
import re
from functools import lru_cache
from typing import TYPE_CHECKING

from preprocess.geometry.base.affine import compose as times
from preprocess.geometry.base.affine import scaling, translation
from preprocess.read.xml.lengths import NUMBER, Units

if TYPE_CHECKING:
    from collections.abc import Callable

    from preprocess.model.artwork.shape import Matrix

__all__ = [
    "IDENTITY",
    "BoundingBox",
    "UserPoint",
    "determinant",
    "inverse",
    "is_flat",
    "scaling",
    "stretch",
    "times",
    "transform_of",
    "translation",
]

UserPoint = tuple[float, float]
"""x, y in user units."""

BoundingBox = tuple[float, float, float, float]
"""Left, top, right, bottom."""

IDENTITY: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)

_CALL = re.compile(r"\s*+(?:,\s*+)?([A-Za-z]++)\s*+\(([^()]*+)\)\s*+")
_ARGUMENT = re.compile(rf"\s*({NUMBER})([a-zA-Z%]*)\s*,?")
_TURNS = {"deg": 1.0, "grad": 0.9, "rad": 180 / math.pi, "turn": 360.0, "": 1.0}


def determinant(m: Matrix) -> float:
    """By what the map multiplies areas; negative where it mirrors."""
    return m[0] * m[3] - m[1] * m[2]


def stretch(matrix: Matrix) -> float:
    """By how much the map stretches lengths at most."""
    a, b, c, d, _, _ = matrix
    half, det = (a * a + b * b + c * c + d * d) / 2, a * d - b * c
    return math.sqrt(half + math.sqrt(max(0.0, half * half - det * det)))


@lru_cache(1024)
def is_flat(m: Matrix) -> bool:
    """Whether the map squeezes the plane to a line or a point, or is no finite map at all."""
    size = max(map(abs, m[:4]))
    return not all(map(math.isfinite, m)) or abs(determinant(m)) <= 1e-14 * size * size


def inverse(m: Matrix) -> Matrix:
    """The map back; `m` must not be flat."""
    a, b, c, d, e, f = m
    k = determinant(m)
    return (d / k, -b / k, -c / k, a / k, (c * f - d * e) / k, (b * e - a * f) / k)


def transform_of(text: str, units: Units) -> Matrix | None:
    """A transform list; None when it is malformed and so must be ignored as a whole."""
    if not text or text == "none":
        return IDENTITY
    found, at = IDENTITY, 0
    while at < len(text):
        call = _CALL.match(text, at)
        if call is None:
            return None
        one = _one(call[1], call[2], units)
        if one is None:
            return None
        found, at = times(found, one), call.end()
    return found


def _one(name: str, arguments: str, units: Units) -> Matrix | None:
    values = _arguments(arguments)
    if values is None:
        return None
    build = _FUNCTIONS.get(name)
    return build(values, units) if build else None


@lru_cache(4096)
def _arguments(text: str) -> tuple[tuple[float, str], ...] | None:
    found, at = [], 0
    text = text.rstrip()
    while at < len(text):
        match = _ARGUMENT.match(text, at)
        if match is None or not math.isfinite(float(match[1])):
            return None
        found.append((float(match[1]), match[2].lower()))
        at = match.end()
    return tuple(found)


Values = tuple[tuple[float, str], ...]


def _matrix(values: Values, units: Units) -> Matrix | None:
    if len(values) != 6:  # noqa: PLR2004 - as many as a matrix has
        return None
    a, b, c, d = (number for number, _ in values[:4])
    e, f = units.of(*values[4], "x"), units.of(*values[5], "y")
    return None if e is None or f is None else (a, b, c, d, e, f)


def _translate(values: Values, units: Units) -> Matrix | None:
    if len(values) not in {1, 2}:
        return None
    x = units.of(*values[0], "x")
    y = units.of(*values[1], "y") if len(values) > 1 else 0.0
    return None if x is None or y is None else translation(x, y)


def _scale(values: Values, _: Units) -> Matrix | None:
    if len(values) not in {1, 2}:
        return None
    x, y = _ratio(*values[0]), _ratio(*values[-1])
    return scaling(x, y)


def _ratio(number: float, unit: str) -> float:
    return number / 100 if unit == "%" else number


def _rotate(values: Values, units: Units) -> Matrix | None:
    if len(values) not in {1, 3} or (angle := _degrees(*values[0])) is None:
        return None
    cos, sin = _cos_sin(angle)
    turn: Matrix = (cos, sin, -sin, cos, 0.0, 0.0)
    if len(values) == 1:
        return turn
    x, y = units.of(*values[1], "x"), units.of(*values[2], "y")
    if x is None or y is None:
        return None
    return times(times(translation(x, y), turn), translation(-x, -y))


def _cos_sin(angle: float) -> tuple[float, float]:
    """Exact at multiples of 90 degrees."""
    quarter, rest = divmod(angle % 360.0, 90.0)
    if rest == 0.0:
        return ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarter) % 4]
    return math.cos(math.radians(angle)), math.sin(math.radians(angle))


def _skew(values: Values, along: str) -> Matrix | None:
    angles = [_degrees(*value) for value in values]
    if not angles or None in angles:
        return None
    first, second = (math.tan(math.radians(a)) for a in (*angles, 0.0)[:2] if a is not None)
    if along == "x":
        return (1.0, 0.0, first, 1.0, 0.0, 0.0) if len(values) == 1 else None
    if along == "y":
        return (1.0, first, 0.0, 1.0, 0.0, 0.0) if len(values) == 1 else None
    return (1.0, second, first, 1.0, 0.0, 0.0)


def _degrees(number: float, unit: str) -> float | None:
    return number * _TURNS[unit] if unit in _TURNS else None


_FUNCTIONS: dict[str, Callable[[Values, Units], Matrix | None]] = {
    "matrix": _matrix,
    "translate": _translate,
    "translateX": lambda v, u: _translate(v[:1], u) if len(v) == 1 else None,
    "translateY": lambda v, u: _translate(((0.0, ""), *v), u) if len(v) == 1 else None,
    "scale": _scale,
    "scaleX": lambda v, _: scaling(_ratio(*v[0]), 1.0) if len(v) == 1 else None,
    "scaleY": lambda v, _: scaling(1.0, _ratio(*v[0])) if len(v) == 1 else None,
    "rotate": _rotate,
    "skewX": lambda v, _: _skew(v, "x"),
    "skewY": lambda v, _: _skew(v, "y"),
    "skew": lambda v, _: _skew(v, "both"),
}
