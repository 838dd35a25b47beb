"""The curve of the greys: its two powers and its gamma, with intervals, from pairs.

For a given gamma the power is linear in the two ends, so that their posterior is a Gaussian in
closed form; gamma is summed up over a grid, with a wide prior around 1. (D. J. C. MacKay,
Information Theory, Inference, and Learning Algorithms, 2003, chapters 24 and 28.)
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from preprocess.errors import wrong
from preprocess.model.artwork.grey import WHITE
from preprocess.model.bench.machine import Grey, GreyIntervals

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.arrays import Floats
    from preprocess.calibrate.greys.grey_pairs import GreyPair

_GAMMAS = np.exp(np.linspace(np.log(0.2), np.log(5.0), 321))
_PRIOR = 0.7
"""Standard deviation of ln gamma beforehand: half of all software lies between 0.6 and 1.6."""

_LEAST = 4
"""Pairs below which three figures cannot be told."""

_LOW, _HIGH = 0.05, 0.95


@dataclass(frozen=True, slots=True, kw_only=True)
class GreyFit:
    """The curve as it goes into the machine file, and its misfit: 1 is as good as the squares."""

    grey: Grey
    pairs: int
    misfit: float


def fit_curve(pairs: Sequence[GreyPair], resolution: float | None = None) -> GreyFit:
    """Fit the curve.

    Raises:
        UserError: too few pairs, or all at one power, or darker greys that are not stronger.
    """
    _expect_enough(pairs)
    darkness = np.array([(WHITE - 1 - pair.grey) / (WHITE - 1) for pair in pairs])
    power = np.array([pair.power for pair in pairs])
    sigma = np.array([pair.within for pair in pairs]) / np.sqrt(3.0)
    found = [_at(gamma, darkness, power, sigma) for gamma in _GAMMAS]
    best = min(one[2] for one in found)
    misfit = float(np.sqrt(best / max(1, len(pairs) - 3)))
    widen = max(1.0, misfit) ** 2
    logs = np.array([-one[2] / widen / 2 + one[3] for one in found])
    logs -= (np.log(_GAMMAS) / _PRIOR) ** 2 / 2
    weight = np.exp(logs - logs.max())
    weight /= weight.sum()
    means = np.array([one[0] for one in found])
    deviations = np.array([np.sqrt(np.diag(one[1]) * widen) for one in found])
    ends = [_quantiles(means[:, n], deviations[:, n], weight) for n in (0, 1)]
    summed = np.cumsum(weight)
    gammas = np.exp(np.interp([_LOW, 0.5, _HIGH], summed, np.log(_GAMMAS)))
    (low, from_, high), (least, to, most) = (np.clip(one, 0.0, 1.0) for one in ends)
    if not from_ < to:
        words = "darker greys were not matched with stronger squares"
        raise wrong(words, "look for squares that were taken the wrong way round")
    return GreyFit(
        grey=Grey(
            from_=round(float(from_), 3),
            to=round(float(to), 3),
            gamma=round(float(gammas[1]), 2),
            resolution=resolution,
            intervals=GreyIntervals(
                from_=(round(float(low), 3), round(float(high), 3)),
                to=(round(float(least), 3), round(float(most), 3)),
                gamma=(round(float(gammas[0]), 2), round(float(gammas[2]), 2)),
            ),
        ),
        pairs=len(pairs),
        misfit=misfit,
    )


def _expect_enough(pairs: Sequence[GreyPair]) -> None:
    different = {pair.power for pair in pairs}
    if len(pairs) < _LEAST or len(different) < 3:  # noqa: PLR2004 - as many as figures
        found = f"{len(pairs)} squares of greys have an equal, at {len(different)} powers"
        raise wrong(
            found,
            f"compare at least {_LEAST} of them with squares of 3 powers or more, or measure a "
            "photo that shows two thirds of all squares",
        )


def _at(
    gamma: float, darkness: Floats, power: Floats, sigma: Floats
) -> tuple[Floats, Floats, float, float]:
    """For one gamma: both ends and their covariance, the misfit, and half its log determinant."""
    share = darkness**gamma
    design = np.column_stack([1 - share, share]) / sigma[:, None]
    precision = design.T @ design
    cov = np.asarray(np.linalg.inv(precision), dtype=np.float64)
    mean = cov @ (design.T @ (power / sigma))
    off = design @ mean - power / sigma
    return mean, cov, float(off @ off), float(np.linalg.slogdet(cov)[1] / 2)


def _quantiles(mean: Floats, deviation: Floats, weight: Floats) -> Floats:
    """Lower end, median and upper end of a mixture of Gaussians."""
    from scipy.special import ndtr

    reach = np.linspace((mean - 6 * deviation).min(), (mean + 6 * deviation).max(), 4001)
    below = weight @ ndtr((reach[None, :] - mean[:, None]) / deviation[:, None])
    return np.asarray(np.interp([_LOW, 0.5, _HIGH], below, reach))
