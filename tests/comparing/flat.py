"""The flat renderer: resvg, without soft edges, over a white page."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

import numpy as np
import resvg_py
from PIL import Image

if TYPE_CHECKING:
    from pathlib import Path

WHITE = 254


class Flat:
    """Draws files and texts; a pixel is marked when it is not white."""

    def size(self, path: Path, expected: tuple[float, float]) -> tuple[float, float]:
        """The size in px that the renderer gives the drawing, rounded as it does."""
        return _image(svg_path=str(path)).size

    def file(self, path: Path, natural: tuple[float, float], zoom: float) -> np.ndarray:
        return marked(_image(svg_path=str(path), zoom=zoom))

    def text(self, svg: str) -> np.ndarray:
        return marked(_image(svg_string=svg))


def marked(image: Image.Image) -> np.ndarray:
    return (np.asarray(image.convert("RGB")) < WHITE).any(axis=2)


def _image(**options) -> Image.Image:
    data = resvg_py.svg_to_bytes(
        **options, dpi=96, background="#ffffff", shape_rendering="crisp_edges", languages=["en"]
    )
    return Image.open(io.BytesIO(bytes(data)))
