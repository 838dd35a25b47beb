"""The picture of the README and the overlays of the jobs show what the program does today."""

from __future__ import annotations

import re
from io import BytesIO
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

import numpy as np
import pytest
import resvg_py
from PIL import Image

from tests.pictures import made

if TYPE_CHECKING:
    from pathlib import Path

MADE = made()
PICTURES = [path for path in MADE if not path.name.endswith(".laser.svg")]


def words(text: str) -> list[str]:
    return " ".join(ET.fromstring(text).itertext()).split()


def difference(one: str, other: str) -> float:
    """Share of the pixels that differ as one colour of the picture from another."""
    pixels = []
    for text in (one, other):
        png = bytes(resvg_py.svg_to_bytes(svg_string=text, dpi=96))
        pixels.append(np.asarray(Image.open(BytesIO(png)).convert("RGB"), dtype=int))
    return float((np.abs(pixels[0] - pixels[1]).max(axis=2) > 64).mean())


@pytest.mark.parametrize("path", PICTURES, ids=lambda path: path.name)
def test_a_picture_is_fresh(path: Path) -> None:
    kept = path.read_text("utf-8")
    assert words(kept) == words(MADE[path]), "run python -m tests.pictures --write"
    assert difference(kept, MADE[path]) < 1e-4, "run python -m tests.pictures --write"


def test_a_strip_that_went_missing_would_be_noticed() -> None:
    fresh = next(text for path, text in MADE.items() if path.parent.name == "pictures")
    without = re.sub(
        r'(fill="#d55e00"[^>]* d=")(?:M[^Z]*Z(?:\s|&#10;)*){80}', r"\1", fresh, count=1
    )
    assert without != fresh
    assert difference(without, fresh) > 3e-4
