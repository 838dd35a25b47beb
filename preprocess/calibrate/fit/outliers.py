"""Cells whose grade is unlikely after all others."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.calibrate.fit.ordinal_model import GRADE_ORDER, LAPSE_RATE, grade_probabilities

if TYPE_CHECKING:
    from preprocess.calibrate.fit.fit import FilamentFit

_ODD = 0.04
"""Probability of a grade (mistakes aside) below which a cell disagrees."""


def find_outliers(fit: FilamentFit) -> list[tuple[int, str]]:
    """Number of each sighting that disagrees with the fit, and the grade that was expected."""
    values = fit.posterior.mean()[None]
    every = (
        grade_probabilities(fit.seen.heat(values), values)[0] - LAPSE_RATE / len(GRADE_ORDER)
    ) / (1 - LAPSE_RATE)
    mine = every[np.arange(len(every)), fit.seen.grade]
    return [(int(n), GRADE_ORDER[int(every[n].argmax())]) for n in np.flatnonzero(mine < _ODD)]
