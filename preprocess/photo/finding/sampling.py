"""Sampling a picture at places between its pixels."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from preprocess.photo.libraries import opencv

if TYPE_CHECKING:
    from preprocess.arrays import Floats, Floats32, Points

_MOST_ROWS = 30_000
"""OpenCV takes tables of places of fewer rows than this."""


def sample_grey(picture: Any, pixels: Points) -> Floats:
    """Values at n places (n × 2 pixels), linear between pixels; beyond the rim as at the rim."""
    return np.asarray(_sampled(picture, pixels), dtype=np.float64).reshape(len(pixels))


def sample_image(picture: Any, pixels: Floats) -> Floats32:
    """Values at rows × columns × 2 places, with the channels of the picture on a last axis."""
    cv2 = opencv()
    found = cv2.remap(
        picture,
        pixels[..., 0].astype(np.float32),
        pixels[..., 1].astype(np.float32),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REPLICATE,
    )
    return np.asarray(found, dtype=np.float32)


def _sampled(picture: Any, pixels: Points) -> Any:
    rows = -(-len(pixels) // _MOST_ROWS) or 1
    padded = np.zeros((rows * _MOST_ROWS if rows > 1 else len(pixels), 2))
    padded[: len(pixels)] = pixels
    return sample_image(picture, padded.reshape(rows, -1, 2)).ravel()[: len(pixels)]
