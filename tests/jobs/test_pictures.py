"""The pictures in the docs show what the program does today."""

from __future__ import annotations

import re
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
import resvg_py
from PIL import Image

from tests.pictures import frame, made

PICTURES = made()


def rendered(text: str) -> np.ndarray:
    png = bytes(resvg_py.svg_to_bytes(svg_string=text, dpi=96))
    return np.asarray(Image.open(BytesIO(png)).convert("RGB"), dtype=int)


@pytest.mark.parametrize("path", PICTURES, ids=lambda path: path.name)
def test_a_picture_is_fresh(path: Path) -> None:
    kept, fresh = path.read_text("utf-8"), PICTURES[path]
    assert frame(kept) == frame(fresh), "run python -m tests.pictures --write"
    differs = np.abs(rendered(kept) - rendered(fresh)).max(axis=2) > 64
    assert differs.mean() < 1e-4, "run python -m tests.pictures --write"


@pytest.mark.parametrize("path", PICTURES, ids=lambda path: path.name)
def test_a_bar_that_went_missing_would_be_noticed(path: Path) -> None:
    fresh = PICTURES[path]
    without = re.sub(r'(fill="#0072b2"[^>]* d=")M[^Z]*Z ', r"\1", fresh, count=1)
    assert without != fresh
    differs = np.abs(rendered(without) - rendered(fresh)).max(axis=2) > 64
    assert differs.mean() > 3e-4
