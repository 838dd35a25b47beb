"""Beginnings of runs: pieces with a share of the energy where the light comes late and rises."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from preprocess.arrays import Floats
    from preprocess.marking.machine.beam import Beam
    from preprocess.marking.solver.exposures import Exposure

_TINY = 1e-9
"""mm; shorter pieces are left out."""


def with_rising_light(exposure: Exposure, late: Floats, beam: Beam) -> Exposure:
    """An exposure whose runs are cut where the light changes.

    `late` is how far each run begins behind the beginning of the drawn run that it is part of, mm.
    """
    if beam.at_once:
        return exposure
    begins, shares = beam.rise(exposure.speed)
    ends = np.append(begins[1:], np.inf)
    long = exposure.end - exposure.start
    low = np.maximum(late[:, None], begins)
    high = np.minimum((late + long)[:, None], ends)
    run, piece = np.nonzero(high - low > _TINY)
    since, until = (edge[run, piece] - late[run] for edge in (low, high))
    forward = exposure.forward[exposure.row[run]]
    start = np.where(forward, exposure.start[run] + since, exposure.end[run] - until)
    end = np.where(forward, exposure.start[run] + until, exposure.end[run] - since)
    order = np.lexsort((start, exposure.row[run]))
    return replace(
        exposure,
        row=exposure.row[run][order],
        start=start[order],
        end=end[order],
        entered=(exposure.entered[run] + since / exposure.speed)[order],
        light=shares[piece][order],
        drawn=exposure,
    )
