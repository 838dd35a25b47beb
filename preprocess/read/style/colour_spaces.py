"""Colours of CIE Lab and Oklab as sRGB. Source: CSS Color 4, sections 9 and 17."""

from __future__ import annotations

import math
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
_KAPPA, _EPSILON = 24389 / 27, 216 / 24389


def srgb_of(space: str, coordinates: Sequence[float | None]) -> _Triple | None:
    """Red, green and blue of a colour, 0 to 1 within the gamut; None for another space.

    Args:
        space: "lab", "lch", "oklab" or "oklch".
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
    else:
        return None
    red, green, blue = (_encoded(value) for value in linear)
    return red, green, blue


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
