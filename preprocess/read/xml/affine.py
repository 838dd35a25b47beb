"""Affine maps as six numbers, and transform lists as SVG and CSS write them."""

from __future__ import annotations

import math
import re
from functools import lru_cache
from typing import TYPE_CHECKING

from preprocess.geometry.base.affine import compose, cos_sin, scaling, translation
from preprocess.read.xml.lengths import NUMBER, Units

if TYPE_CHECKING:
    from collections.abc import Callable

    from preprocess.model.artwork.shape import Matrix

__all__ = [
    "ANGLE_UNITS",
    "IDENTITY",
    "BoundingBox",
    "UserPoint",
    "compose",
    "degrees_of",
    "determinant",
    "inverse_matrix",
    "is_degenerate",
    "largest_stretch",
    "parse_transform_list",
    "radian_rotation",
    "scaling",
    "translation",
]

UserPoint = tuple[float, float]
"""x, y in user units."""

BoundingBox = tuple[float, float, float, float]
"""Left, top, right, bottom."""

IDENTITY: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)

_CALL = re.compile(r"\s*+(?:,\s*+)?([A-Za-z]++)\s*+\(([^()]*+)\)\s*+")
_ARGUMENT = re.compile(rf"\s*({NUMBER})([a-zA-Z%]*)\s*,?")
ANGLE_UNITS = {"deg": 1.0, "grad": 0.9, "rad": 180 / math.pi, "turn": 360.0, "": 1.0}


def determinant(m: Matrix) -> float:
    """Determinant: the factor on areas; negative for a mirrored map."""
    return m[0] * m[3] - m[1] * m[2]


def largest_stretch(matrix: Matrix) -> float:
    """Largest singular value: the greatest factor on lengths."""
    a, b, c, d, _, _ = matrix
    half, det = (a * a + b * b + c * c + d * d) / 2, a * d - b * c
    return math.sqrt(half + math.sqrt(max(0.0, half * half - det * det)))


def radian_rotation(angle: float) -> Matrix:
    """Turn about the origin by radians, clockwise as seen."""
    cos, sin = math.cos(angle), math.sin(angle)
    return (cos, sin, -sin, cos, 0.0, 0.0)


@lru_cache(1024)
def is_degenerate(m: Matrix) -> bool:
    """Test whether the map is singular, or not finite."""
    size = max(map(abs, m[:4]))
    return not all(map(math.isfinite, m)) or abs(determinant(m)) <= 1e-14 * size * size


def inverse_matrix(m: Matrix) -> Matrix:
    """Inverse of the map; `m` must not be singular."""
    a, b, c, d, e, f = m
    k = determinant(m)
    return (d / k, -b / k, -c / k, a / k, (c * f - d * e) / k, (b * e - a * f) / k)


def parse_transform_list(text: str, units: Units) -> Matrix | None:
    """Parse a transform list; None for a malformed one, which counts as missing."""
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
        found, at = compose(found, one), call.end()
    return found


def _one(name: str, arguments: str, units: Units) -> Matrix | None:
    """One transform function; None for an unknown name, or a count or unit that it cannot take."""
    values, (counts, build) = _arguments(arguments), _FUNCTIONS.get(name, ((), None))
    if values is None or build is None or len(values) not in counts:
        return None
    try:
        return build(values, units)
    except KeyError:
        return None


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


FunctionArguments = tuple[tuple[float, str], ...]


def _length(value: tuple[float, str], axis: str, units: Units) -> float:
    """A length in user units.

    Raises:
        KeyError: its unit is unknown.
    """
    found = units.of(*value, axis)
    if found is None:
        raise KeyError(value[1])
    return found


def _matrix(values: FunctionArguments, units: Units) -> Matrix:
    a, b, c, d = (number for number, _ in values[:4])
    return a, b, c, d, _length(values[4], "x", units), _length(values[5], "y", units)


def _translate(values: FunctionArguments, units: Units) -> Matrix:
    y = _length(values[1], "y", units) if len(values) > 1 else 0.0
    return translation(_length(values[0], "x", units), y)


def _scale(values: FunctionArguments, _: Units) -> Matrix:
    return scaling(_ratio(values[0]), _ratio(values[-1]))


def _ratio(value: tuple[float, str]) -> float:
    return value[0] / 100 if value[1] == "%" else value[0]


def _rotate(values: FunctionArguments, units: Units) -> Matrix:
    cos, sin = cos_sin(degrees_of(*values[0]))
    turn: Matrix = (cos, sin, -sin, cos, 0.0, 0.0)
    if len(values) == 1:
        return turn
    x, y = _length(values[1], "x", units), _length(values[2], "y", units)
    return compose(compose(translation(x, y), turn), translation(-x, -y))


def _skew(values: FunctionArguments, _: Units) -> Matrix:
    along_x, along_y, *_ignored = (*(math.tan(math.radians(degrees_of(*v))) for v in values), 0.0)
    return (1.0, along_y, along_x, 1.0, 0.0, 0.0)


def degrees_of(number: float, unit: str) -> float:
    """An angle in degrees.

    Raises:
        KeyError: its unit is unknown.
    """
    return number * ANGLE_UNITS[unit]


_ONE = (1,)
_ZERO = (0.0, "")
_FUNCTIONS: dict[str, tuple[tuple[int, ...], Callable[[FunctionArguments, Units], Matrix]]] = {
    "matrix": ((6,), _matrix),
    "translate": ((1, 2), _translate),
    "translateX": (_ONE, _translate),
    "translateY": (_ONE, lambda v, u: _translate((_ZERO, *v), u)),
    "scale": ((1, 2), _scale),
    "scaleX": (_ONE, lambda v, _: scaling(_ratio(v[0]), 1.0)),
    "scaleY": (_ONE, lambda v, _: scaling(1.0, _ratio(v[0]))),
    "rotate": ((1, 3), _rotate),
    "skewX": (_ONE, _skew),
    "skewY": (_ONE, lambda v, u: _skew((_ZERO, *v), u)),
    "skew": ((1, 2), _skew),
}
