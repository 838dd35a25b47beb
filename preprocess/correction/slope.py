"""The slope of the tone: how much a mark changes with its heat, from coupons or from the map."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from preprocess.calibrate.tones.tone_fit import fit_tones
from preprocess.calibrate.tones.tone_model import MIDDLE, WIDTH
from preprocess.causes.marked_places import places_of

if TYPE_CHECKING:
    from preprocess.arrays import Floats
    from preprocess.calibrate.tones.tone_fit import ToneFit
    from preprocess.calibrate.tones.toned_places import TonedPlaces
    from preprocess.photo.measured import MeasuredJob

_TRIED = np.linspace(0.0, 1.0, 9)
"""How far the heat may lie from the index at the believed spread towards that at twice of it."""

_BETTER = 1 + 1e-6
"""Factor by which another place must fit better to be taken."""

_EVENED = 0.25
"""Variance of the index over that at twice the spread, below which a part was evened out."""

_AROUND = np.linspace(-3.0, 3.0, 601)
"""Places of the curve, in widths from its middle."""

_FLAT = 0.1
"""Share of the steepest slope below which a curve tells nothing."""


def slope_of_coupons(places: TonedPlaces | None, tone: float) -> float | None:
    """ΔL* for each e-fold of heat at a tone, by the fitted coupons; None where they do not tell."""
    if places is None:
        return None
    found = fit_tones(places)
    return None if found.used is None else _slope_at(found, tone)


def _slope_at(found: ToneFit, tone: float) -> float | None:
    values = found.values
    heat = values[MIDDLE] + np.exp(values[WIDTH]) * _AROUND
    curve = found.model.curve(values, heat)
    slopes = np.gradient(curve, heat)
    at = int(np.argmin(np.abs(curve - tone)))
    steepest = float(np.max(np.abs(slopes)))
    slope = float(slopes[at])
    return slope if abs(slope) > _FLAT * steepest else None


def slope_of_map(job: MeasuredJob, heat: Floats) -> float:
    """ΔL* for each e-fold of heat, from the map itself.

    The heat lies somewhere between the index at the believed spread and that at twice of it: where
    it follows the tone best. Of places alike that at the believed spread is taken; on a part that
    was evened out, whose index is flat, that at twice of it.
    """
    places = places_of(job)
    held = heat[np.isfinite(heat)]
    held = held - held.mean()
    best, slope = -1.0, 0.0
    evened = float(np.var(places.index)) < _EVENED * float(np.var(places.wider))
    for share in _TRIED[:: -1 if evened else 1].tolist():
        index = places.index + share * (places.wider - places.index)
        index = index - index.mean()
        size = float(index @ index) or 1.0
        along = float(held @ index)
        fit = along**2 / size
        if fit > best * _BETTER:
            best, slope = fit, along / size
    return slope
