"""Light and its code in sRGB, and lightness. Sources: IEC 61966-2-1; CIE 15, L*."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from preprocess.arrays import Floats

LUMINANCE = 0.2126, 0.7152, 0.0722
"""Share of red, green and blue in the luminance."""

_CURVED, _TURN = 0.04045, (6 / 29) ** 3


def decode_light(code: Any) -> Floats:
    """Linear light, 0 to 1, of codes of sRGB from 0 to 255."""
    share = np.asarray(code, dtype=np.float64) / 255
    return np.where(share <= _CURVED, share / 12.92, ((share + 0.055) / 1.055) ** 2.4)


def lightness(luminance: Any) -> Floats:
    """L*, 0 to 100, of a luminance relative to white."""
    y = np.maximum(np.asarray(luminance, dtype=np.float64), 0.0)
    return np.where(y > _TURN, 116 * np.cbrt(y) - 16, (29 / 3) ** 3 * y)
