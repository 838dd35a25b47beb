"""Outliers: observations whose grade is unlikely under the fit."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.calibrate.fit.ordinal_model import GRADE_ORDER, LAPSE_RATE, grade_probabilities

if TYPE_CHECKING:
    from preprocess.calibrate.fit.fit import FilamentFit

_ODD = 0.04
"""Probability of a grade, lapses aside, below which it is an outlier."""


def find_outliers(fit: FilamentFit) -> list[tuple[int, str]]:
    """Number of each outlying observation, and its most likely grade."""
    values = fit.posterior.mean()[None]
    probabilities = grade_probabilities(fit.model.heat(values), values)[0]
    every = (probabilities - LAPSE_RATE / len(GRADE_ORDER)) / (1 - LAPSE_RATE)
    mine = every[np.arange(len(every)), fit.model.grade]
    return [(int(n), GRADE_ORDER[int(every[n].argmax())]) for n in np.flatnonzero(mine < _ODD)]
