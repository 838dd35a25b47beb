"""The fit of tones: figures of a filament with honest intervals, or why they tell nothing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import least_squares
from scipy.stats import chi2

from preprocess.calibrate.tones.tone_model import (
    DARKEST,
    DEPTH,
    SPEED,
    SPREAD,
    TONE_PRIOR,
    ToneModel,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.arrays import Booleans, Floats
    from preprocess.calibrate.tones.toned_places import TonedPlaces

TOLD = SPEED, SPREAD, DEPTH
"""Parameters that tones share with grades, in this order."""

WIDER = 1.4
"""Factor on standard deviations, so that intervals hold what they promise."""

MODEL_ERROR = np.array([0.0, 0.13, 0.25])
"""Standard deviations by which speed, log spread and log depth are off, however many the tones:
plastics conduct otherwise, and their tones follow another curve."""

_LIKELY = 0.005
"""Probability of residuals as large as these, below which the model does not fit."""

_ODDEST = 14.0
"""Squares of the curve's figures by their priors, from which it is no curve of a usual tone."""

_UNSURE = 1.15
"""Factor by which squared residuals may be off, since the noise is measured on them."""

FEWEST = 12
"""Places below which tones tell nothing."""

_SHARES = 0.0, 0.1, 0.2, 0.3, 0.4
"""Tried shares of the hottest places to leave out."""

_STARTS = (-0.8, 0.0), (0.8, 0.0), (0.0, 1.0)
"""Starts of spread and depth, in standard deviations of their priors."""

_FREE = [which for which in range(len(TONE_PRIOR)) if which != SPREAD]
_REACH, _ROW = 4.0, 9
"""Row of spreads: standard deviations to both sides, and how many."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ToneFit:
    """Fitted tones.

    `values` are the parameters of `model`; `mean` and `covariance` are those of speed, spread and
    depth, widened. `used` marks places that the fit holds for: the hottest are left out where they
    follow no such curve. It is None where no share of the places does: tones tell nothing then.
    """

    model: ToneModel
    values: Floats
    mean: Floats
    covariance: Floats
    used: Booleans | None

    @property
    def left_out(self) -> int:
        """How many places the fit does not hold for."""
        return len(self.model.places) if self.used is None else int((~self.used).sum())

    @property
    def residuals(self) -> Floats:
        """Measured less fitted tone of every place, ΔL*."""
        return self.model.places.tone - self.model.tone(self.values)


def fit_tones(places: TonedPlaces) -> ToneFit:
    """Fit the curve; leave out the hottest places where only the others follow one."""
    whole = ToneModel(places)
    for share in _SHARES:
        keep = _coolest(whole, share)
        if keep.sum() < FEWEST:
            break
        model = ToneModel(places.only(keep))
        standard, squares, covariance = _best(model)
        if _likely(model, standard, squares):
            mean, told = _told(model, standard, covariance)
            return ToneFit(
                model=whole,
                values=_moved(model, whole, model.values(standard)),
                mean=mean,
                covariance=_widened(model, told),
                used=keep,
            )
    told = np.diag(TONE_PRIOR[list(TOLD), 1] ** 2)
    values = whole.values(_best(whole)[0])
    return ToneFit(
        model=whole, values=values, mean=TONE_PRIOR[list(TOLD), 0], covariance=told, used=None
    )


def _moved(model: ToneModel, whole: ToneModel, values: Floats) -> Floats:
    """The values with the greatest tone counted from that of all places."""
    return values + np.log(model.scale / whole.scale) * (np.arange(len(values)) == DARKEST)


def _coolest(model: ToneModel, share: float) -> Booleans:
    """All but the hottest share of the places, by their usual heat."""
    heat = model.heat(model.start)
    if not share:
        return np.ones(len(heat), bool)
    return np.asarray(heat <= np.quantile(heat, 1 - share))


def _best(model: ToneModel) -> tuple[Floats, float, Floats]:
    """The likeliest parameters in standard deviations, squared errors, and their covariance."""
    return min((_minimum(model, _start(*one)) for one in _STARTS), key=lambda one: one[1])


def _told(model: ToneModel, standard: Floats, covariance: Floats) -> tuple[Floats, Floats]:
    """Mean and covariance of what is told, around the likeliest parameters.

    Along the spread the posterior is skewed, so it is added up over a row of spreads; all else is
    normal at each of them (Laplace).
    """
    reach = _REACH * float(np.sqrt(covariance[SPREAD, SPREAD]))
    logs, means, within = [], [], []
    for away in reach * np.linspace(-1, 1, _ROW):
        fixed = standard.copy()
        fixed[SPREAD] += away
        at, left, spread = _minimum(model, fixed, free=_FREE)
        logs.append(0.5 * float(np.linalg.slogdet(spread[np.ix_(_FREE, _FREE)])[1]) - left / 2)
        means.append(at[list(TOLD)])
        within.append(spread[np.ix_(TOLD, TOLD)])
    weights = np.exp(np.array(logs) - max(logs))
    weights /= weights.sum()
    mean = weights @ np.array(means)
    off = np.array(means) - mean
    told = np.tensordot(weights, np.array(within), 1) + (off * weights[:, None]).T @ off
    prior = TONE_PRIOR[list(TOLD)]
    return (
        prior[:, 0] + prior[:, 1] * mean,
        np.asarray(told * np.outer(prior[:, 1], prior[:, 1])),
    )


def _start(spread: float, depth: float) -> Floats:
    start = np.zeros(len(TONE_PRIOR))
    start[[SPREAD, DEPTH]] = spread, depth
    return start


def _minimum(
    model: ToneModel, start: Floats, free: Sequence[int] = range(len(TONE_PRIOR))
) -> tuple[Floats, float, Floats]:
    """Parameters, squared errors and covariance at the least squares over the free ones."""
    free = list(free)

    def errors(some: Floats) -> Floats:
        held = start.copy()
        held[free] = some
        return model.errors(held)

    found = least_squares(errors, start[free], max_nfev=60)
    at, covariance = start.copy(), np.zeros((len(start), len(start)))
    at[free] = found.x
    covariance[np.ix_(free, free)] = np.linalg.inv(found.jac.T @ found.jac)
    return at, 2 * float(found.cost), covariance


def _likely(model: ToneModel, standard: Floats, squares: float) -> bool:
    """True if neither errors as large as these nor a curve like this are a rarity."""
    curve = float((standard[DARKEST:] ** 2).sum())
    fits = float(chi2.sf(squares / _UNSURE, len(model.places))) > _LIKELY
    return fits and curve < _ODDEST


def _widened(model: ToneModel, covariance: Floats) -> Floats:
    """The widened covariance of speed, spread and depth; no surer than the tones allow.

    Rows of one pitch do not part depth from conductivity, and one speed tells no exponent: these
    stay as unsure as their priors.
    """
    held = covariance * WIDER**2 + np.diag(MODEL_ERROR**2)
    for at, (which, along) in enumerate(
        ((SPEED, model.places.speed), (SPREAD, None), (DEPTH, model.places.pitch))
    ):
        usual = TONE_PRIOR[which, 1] / float(np.sqrt(held[at, at]))
        untold = along is not None and float(np.ptp(along)) == 0
        factor = usual if untold else min(1.0, usual)
        held[at, :] *= factor
        held[:, at] *= factor
    return held
