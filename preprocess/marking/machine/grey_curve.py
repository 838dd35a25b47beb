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
    darker = np.floor(_STEPS * share ** (1 / curve.gamma))
    grey = (_STEPS - np.clip(darker, 0, _STEPS)).astype(np.uint8)
    lighter, known = grey, grey_powers(curve)
    darker_one = np.maximum(grey, 1) - 1
    nearer = np.abs(known[darker_one] - power) < np.abs(known[lighter] - power)
    return np.where(nearer, darker_one, lighter).astype(np.uint8)
