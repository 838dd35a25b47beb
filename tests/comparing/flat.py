"""The flat renderer: resvg, without soft edges, over a white page."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

import numpy as np
import resvg_py
from PIL import Image

if TYPE_CHECKING:
    from pathlib import Path

Image.MAX_IMAGE_PIXELS = None  # a drawing may be wide; these pictures are our own

NOT_WHITE = 1 / 255
WEIGHTS = (0.2126, 0.7152, 0.0722)
"""Shares of red, green and blue in lightness: ITU-R BT.709."""


class Flat:
    """Draws files and texts; a pixel is marked when it is at least so dark."""

    def __init__(self, dark: float = NOT_WHITE) -> None:
        self._dark = dark

    def size(self, path: Path, expected: tuple[float, float]) -> tuple[float, float]:
        """The size in px that the renderer gives the drawing, rounded as it does."""
        return _image(svg_path=str(path)).size

    def file(self, path: Path, natural: tuple[float, float], zoom: float) -> np.ndarray:
        return marked(_image(svg_path=str(path), zoom=zoom), self._dark)

    def text(self, svg: str) -> np.ndarray:
        return marked(_image(svg_string=svg), self._dark)


def marked(image: Image.Image, dark: float) -> np.ndarray:
    """Which pixels of a picture over white have at least this darkness, 1 for black."""
    lightness = np.asarray(image.convert("RGB")) @ np.array(WEIGHTS)
    return lightness <= 255 * (1 - dark) + 1e-6


def _image(**options) -> Image.Image:
    data = resvg_py.svg_to_bytes(
        **options, dpi=96, background="#ffffff", shape_rendering="crisp_edges", languages=["en"]
    )
    return Image.open(io.BytesIO(bytes(data)))
