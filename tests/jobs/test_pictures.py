"""The picture of the README and the overlays of the jobs show what the program does today."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from tests.jobs.looks import difference, words
from tests.pictures import made

if TYPE_CHECKING:
    from pathlib import Path

MADE = made()
PICTURES = [path for path in MADE if not path.name.endswith(".laser.svg")]


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
