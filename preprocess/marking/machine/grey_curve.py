"""The curve of a machine's greys: which power each grey gets, and which grey gives a power."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.model.artwork.grey import WHITE

if TYPE_CHECKING:
    from preprocess.arrays import Floats, Greys
    from preprocess.model.bench.machine import Grey

_STEPS = WHITE - 1
"""Steps from the grey beside white to black."""


def grey_powers(curve: Grey) -> Floats:
    """The power (a share) of each grey from black, 0, to white, 255; white has none."""
    darkness = np.arange(_STEPS, -1, -1) / _STEPS
    powers = curve.from_ + (curve.to - curve.from_) * darkness**curve.gamma
    return np.append(powers, 0.0)


def greys_of(power: Floats, curve: Grey) -> Greys:
    """The grey whose power is nearest to each power; beyond the curve's ends that of the end."""
    share = np.clip((power - curve.from_) / (curve.to - curve.from_), 0.0, 1.0)
    darkness = _STEPS * share ** (1 / curve.gamma)
    lighter = (_STEPS - np.floor(darkness)).astype(np.uint8)
    darker = np.maximum(lighter, 1) - np.uint8(1)
    known = grey_powers(curve)
    nearer = np.abs(known[darker] - power) < np.abs(known[lighter] - power)
    return np.where(nearer, darker, lighter)
