"""Cells whose grade is unlikely after all others."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.calibrate.fit.ordinal_model import GRADES, MISTAKES, chances

if TYPE_CHECKING:
    from preprocess.calibrate.fit.fit import Fit

_ODD = 0.04
"""Probability of a grade (mistakes aside) below which a cell disagrees."""


def odd_sightings(fit: Fit) -> list[tuple[int, str]]:
    """Number of each sighting that disagrees with the fit, and the grade that was expected."""
    values = fit.posterior.mean()[None]
    every = (chances(fit.seen.heat(values), values)[0] - MISTAKES / len(GRADES)) / (1 - MISTAKES)
    mine = every[np.arange(len(every)), fit.seen.grade]
    return [(int(n), GRADES[int(every[n].argmax())]) for n in np.flatnonzero(mine < _ODD)]
