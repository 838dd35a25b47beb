"""Words and looks of two pictures, which stay alike where last digits do not."""

from __future__ import annotations

from io import BytesIO
from xml.etree import ElementTree as ET

import numpy as np
import resvg_py
from PIL import Image


def words(text: str) -> list[str]:
    return " ".join(ET.fromstring(text).itertext()).split()


def difference(one: str, other: str) -> float:
    """Share of the pixels that differ as one colour of the picture from another."""
    pixels = []
    for text in (one, other):
        png = bytes(resvg_py.svg_to_bytes(svg_string=text, dpi=96))
        pixels.append(np.asarray(Image.open(BytesIO(png)).convert("RGB"), dtype=int))
    return float((np.abs(pixels[0] - pixels[1]).max(axis=2) > 64).mean())
