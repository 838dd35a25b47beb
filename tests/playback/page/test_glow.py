"""Colours of warmth, by the lightness of CIE 1976 and as colour-blind eyes see them."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from preprocess.playback.page.glow import GLOW_STEPS, glow_ramp

EYES = {
    "all cones": np.eye(3),
    "no red cones": [
        [0.152286, 1.052583, -0.204868],
        [0.114503, 0.786281, 0.099216],
        [-0.003882, -0.048116, 1.051998],
    ],
    "no green cones": [
        [0.367322, 0.860646, -0.227968],
        [0.280085, 0.672501, 0.047413],
        [-0.011820, 0.042940, 0.968881],
    ],
    "no blue cones": [
        [1.255528, -0.076749, -0.178779],
        [-0.078411, 0.930809, 0.147602],
        [0.004733, 0.691367, 0.303900],
    ],
}
"""On linear red, green and blue: G. Machado, M. Oliveira, L. Fernandes, 2009, at full severity."""


def linear(colour: str) -> np.ndarray:
    channels = np.array([int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)])
    return np.where(channels <= 0.04045, channels / 12.92, ((channels + 0.055) / 1.055) ** 2.4)


@pytest.mark.parametrize("eyes", EYES)
def test_every_step_is_brighter_than_the_one_before(eyes) -> None:
    weights = np.array([0.2126, 0.7152, 0.0722])
    seen = [weights @ np.clip(np.array(EYES[eyes]) @ linear(one), 0, 1) for one in glow_ramp()]
    assert len(seen) == GLOW_STEPS == 256
    assert all(b > a for a, b in pairwise(seen))


def test_it_reaches_from_dark_to_near_white() -> None:
    first, last = (
        0.2126 * r + 0.7152 * g + 0.0722 * b for r, g, b in map(linear, glow_ramp()[::255])
    )
    assert first < 0.02
    assert last > 0.8
