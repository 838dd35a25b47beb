"""Colours mixed in OKLab, where equal distances look equally far apart.

Source: B. Ottosson, "A perceptual color space for image processing", 2020.
"""

from __future__ import annotations

_OFFSET, _BREAK = 0.055, 0.0031308


def oklab_hex(light: float, a: float, b: float) -> str:
    """Lightness and the two axes of colour as sRGB, #rrggbb.

    Numbers are those of the paper and of IEC 61966-2-1; what screens cannot show is cut off.
    """
    long = (light + 0.3963377774 * a + 0.2158037573 * b) ** 3
    medium = (light - 0.1055613458 * a - 0.0638541728 * b) ** 3
    short = (light - 0.0894841775 * a - 1.2914855480 * b) ** 3
    linear = (
        4.0767416621 * long - 3.3077115913 * medium + 0.2309699292 * short,
        -1.2684380046 * long + 2.6097574011 * medium - 0.3413193965 * short,
        -0.0041960863 * long - 0.7034186147 * medium + 1.7076147010 * short,
    )
    return "#" + "".join(f"{round(255 * _encoded(channel)):02x}" for channel in linear)


def _encoded(linear: float) -> float:
    value = min(max(linear, 0.0), 1.0)
    if value <= _BREAK:
        return 12.92 * value
    return float((1 + _OFFSET) * value ** (1 / 2.4) - _OFFSET)
