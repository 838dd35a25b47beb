"""The markers of a frame: squares of 4 × 4 modules in a black rim, as published with OpenCV."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from preprocess.photo.libraries import opencv

if TYPE_CHECKING:
    from preprocess.arrays import Booleans

MODULES = 6
"""Modules along the side of a marker, its black rim included."""


def dictionary() -> Any:
    """OpenCV's dictionary of the markers."""
    cv2 = opencv()
    return cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)


def white_modules(number: int) -> Booleans:
    """Which modules of a marker are white, rows × columns."""
    drawn = opencv().aruco.generateImageMarker(dictionary(), number, MODULES, borderBits=1)
    return np.asarray(drawn) > 0
