"""Limits of a photo: each refusal has the figure, the limit and what to do."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from preprocess.errors import Refusal
from preprocess.photo.limits import expect_found, expect_sharp, expect_unclipped

GOOD = {"px_per_mm": 12.0, "edge": 0.2, "fit": 0.01}
FOUND = {"match": 0.9, "error": 0.01, "scale": 1.001}


@pytest.mark.parametrize(
    ("bad", "told", "remedy"),
    [
        ({"px_per_mm": 5.04}, "one millimetre is 5.0 pixels; 6 are needed", "nearer"),
        (
            {"edge": 0.81},
            "edges of the frame are 0.81 mm wide; 0.66 is the most",
            "tap on the part",
        ),
        ({"fit": 0.09}, "0.09 mm off on average; 0.05 is the most", "flat"),
    ],
)
def test_small_blurred_and_bent_photos(bad, told, remedy) -> None:
    expect_sharp(SimpleNamespace(**GOOD))
    with pytest.raises(Refusal, match=told) as error:
        expect_sharp(SimpleNamespace(**GOOD | bad))
    assert remedy in error.value.remedy


@pytest.mark.parametrize(
    ("bad", "told", "remedy"),
    [
        ({"match": 0.31}, "31 % of its outline fit, 50 % must", "right part"),
        ({"error": 0.2}, "drawing was not found", "right part"),
        ({"scale": 0.97}, "97.0 % of its size", "50 mm line"),
    ],
)
def test_drawings_that_are_not_there(bad, told, remedy) -> None:
    expect_found(SimpleNamespace(**FOUND))
    with pytest.raises(Refusal, match=told) as error:
        expect_found(SimpleNamespace(**FOUND | bad))
    assert remedy in error.value.remedy


def test_clipped_photos() -> None:
    clipped = np.zeros((100, 100), bool)
    clipped[0, :20] = True
    expect_unclipped(SimpleNamespace(clipped=clipped))
    clipped[1, :1] = True
    with pytest.raises(Refusal, match=r"0.2 % of the part is too bright .* 0.2 % is the most"):
        expect_unclipped(SimpleNamespace(clipped=clipped))
