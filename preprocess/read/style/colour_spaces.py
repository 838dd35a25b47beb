"""Colours of Lab, Oklab, XYZ and Display P3 as sRGB, and back. Source: CSS Color 4, 9, 10, 17."""

from __future__ import annotations

import math
from functools import cache
from operator import truediv
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

_Triple = tuple[float, float, float]

_FROM_OKLAB = (
    (1.0, 0.3963377773761749, 0.2158037573099136),
    (1.0, -0.1055613458156586, -0.0638541728258133),
    (1.0, -0.0894841775298119, -1.2914855480194092),
)
_LMS_TO_LINEAR = (
    (4.0767416360759583, -3.3077115392580629, 0.2309699031821043),
    (-1.2684379732850315, 2.6097573492876882, -0.3413193760026570),
    (-0.0041960761386756, -0.7034186179359362, 1.7076146940746117),
)
_D50_TO_LINEAR = (
    (3.1341359569958707, -1.6173863321612538, -0.4906619460083532),
    (-0.978795502912089, 1.916254567259524, 0.03344273116131949),
    (0.07195537988411677, -0.2289768264158322, 1.405386058324125),
)
_D50_WHITE = (0.3457 / 0.3585, 1.0, (1.0 - 0.3457 - 0.3585) / 0.3585)
_P3_TO_D65 = (
    (608311 / 1250200, 189793 / 714400, 198249 / 1000160),
    (35783 / 156275, 247089 / 357200, 198249 / 2500400),
    (0.0, 32229 / 714400, 5220557 / 5000800),
)
_KAPPA, _EPSILON = 24389 / 27, 216 / 24389


_D65_TO_LINEAR = (
    (12831 / 3959, -329 / 214, -1974 / 3959),
    (-851781 / 878810, 1648619 / 878810, 36519 / 878810),
    (705 / 12673, -2585 / 12673, 705 / 667),
)


def srgb_of(space: str, coordinates: Sequence[float | None]) -> _Triple | None:
    """Red, green and blue of a colour, 0 to 1 within the gamut; None for another space.

    Args:
        space: one of Lab and Oklab, by axes or by hue, of XYZ, "display-p3" or "srgb-linear".
        coordinates: as CSS writes them, hue in degrees; None counts as 0.
    """
    light, one, two = (float(value or 0.0) for value in coordinates)
    if space in {"lch", "oklch"}:
        hue = math.radians(two)
        one, two = one * math.cos(hue), one * math.sin(hue)
    if space in {"oklab", "oklch"}:
        cubed = [value**3 for value in _times(_FROM_OKLAB, (light, one, two))]
        linear = _times(_LMS_TO_LINEAR, cubed)
    elif space in {"lab", "lch"}:
        linear = _times(_D50_TO_LINEAR, _xyz_of_lab(light, one, two))
    elif space == "display-p3":
        linear = _times(
            _D65_TO_LINEAR, _times(_P3_TO_D65, [_decoded(x) for x in (light, one, two)])
        )
    elif space in _OF_LINEAR:
        linear = _times(_OF_LINEAR[space], (light, one, two))
    else:
        return None
    red, green, blue = (_encoded(value) for value in linear)
    return red, green, blue


def space_of_srgb(space: str, rgb: _Triple) -> _Triple:
    """The coordinates of red, green and blue in a space that `srgb_of` reads, or in "srgb"."""
    if space == "srgb":
        return rgb
    red, green, blue = (_decoded(value) for value in rgb)
    linear = (red, green, blue)
    if space == "display-p3":
        xyz = _times(_inverse(_D65_TO_LINEAR), linear)
        red, green, blue = (_encoded(value) for value in _times(_inverse(_P3_TO_D65), xyz))
        return red, green, blue
    if space in _OF_LINEAR:
        return _times(_inverse(_OF_LINEAR[space]), linear)
    if space in {"oklab", "oklch"}:
        lms = _times(_inverse(_LMS_TO_LINEAR), linear)
        light, a, b = _times(_inverse(_FROM_OKLAB), [math.cbrt(value) for value in lms])
    else:
        x, y, z = (
            math.cbrt(value) if value > _EPSILON else (_KAPPA * value + 16) / 116
            for value in map(truediv, _times(_inverse(_D50_TO_LINEAR), linear), _D50_WHITE)
        )
        light, a, b = 116 * y - 16, 500 * (x - y), 200 * (y - z)
    if space in {"lch", "oklch"}:
        return light, math.hypot(a, b), math.degrees(math.atan2(b, a)) % 360
    return light, a, b


_OF_LINEAR = {
    "srgb-linear": ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)),
    "xyz": _D65_TO_LINEAR,
    "xyz-d65": _D65_TO_LINEAR,
    "xyz-d50": _D50_TO_LINEAR,
}


@cache
def _inverse(matrix: tuple[_Triple, ...]) -> tuple[_Triple, ...]:
    """By cofactors."""
    (a, b, c), (d, e, f), (g, h, i) = matrix
    columns = (
        (e * i - f * h, c * h - b * i, b * f - c * e),
        (f * g - d * i, a * i - c * g, c * d - a * f),
        (d * h - e * g, b * g - a * h, a * e - b * d),
    )
    whole = a * columns[0][0] + b * columns[1][0] + c * columns[2][0]
    first, second, third = ((x / whole, y / whole, z / whole) for x, y, z in columns)
    return first, second, third


def _decoded(value: float) -> float:
    """Back from the transfer function of sRGB."""
    size = abs(value)
    found = ((size + 0.055) / 1.055) ** 2.4 if size > 0.04045 else size / 12.92  # noqa: PLR2004
    return math.copysign(found, value)


def _xyz_of_lab(light: float, a: float, b: float) -> _Triple:
    middle = (light + 16) / 116
    x, y, z = (
        value**3 if value**3 > _EPSILON else (116 * value - 16) / _KAPPA
        for value in (middle + a / 500, middle, middle - b / 200)
    )
    return x * _D50_WHITE[0], y * _D50_WHITE[1], z * _D50_WHITE[2]


def _encoded(value: float) -> float:
    """The transfer function of sRGB."""
    size = abs(value)
    found = 1.055 * size ** (1 / 2.4) - 0.055 if size > 0.0031308 else 12.92 * size  # noqa: PLR2004
    return math.copysign(found, value)


def _times(matrix: Sequence[_Triple], vector: Sequence[float]) -> _Triple:
    x, y, z = (sum(a * b for a, b in zip(row, vector, strict=True)) for row in matrix)
    return x, y, z
