"""The posterior: a seeded, weighted sample of the parameters by adaptive importance sampling.

Modes are sought from several starts; a Gaussian around the best (Laplace) is the first proposal.
Samples of a multivariate t with that covariance are weighted by posterior over proposal. Further
rounds adapt the proposal until the effective sample size suffices; intervals may be skewed.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import minimize

from preprocess.calibrate.fit.ordinal_model import MIDDLE, PRIOR

if TYPE_CHECKING:
    from preprocess.arrays import Floats
    from preprocess.calibrate.fit.ordinal_model import OrdinalRegression


_SEED = 20
_SAMPLES = 6000
_TAILS = 6
"""Degrees of freedom of the proposal: heavy tails."""

_FEWEST, _ROUNDS, _ENOUGH = 3, 8, 600
"""Fewest and most rounds, and the effective sample size that ends them."""

_STEP = 1e-4
_STARTS = (0.0, -0.4, 0.4)
_SURE = 0.9
"""Share of the samples within an interval."""


@dataclass(frozen=True, slots=True)
class Posterior:
    """Weighted samples × parameters, and the mode."""

    best: Floats
    values: Floats
    weights: Floats

    def mean(self, of: Floats | None = None) -> Floats:
        """Weighted mean of the parameters, or of another quantity by sample."""
        return self.weights @ (self.values if of is None else of)

    def sd(self, of: Floats | None = None) -> Floats:
        """Weighted standard deviation."""
        held = self.values if of is None else of
        return np.sqrt(self.weights @ (held - self.weights @ held) ** 2)

    def interval(self, of: Floats, sure: float = _SURE) -> tuple[float, float, float]:
        """Lower end, median and upper end."""
        order = np.argsort(of, kind="stable")
        sums = np.cumsum(self.weights[order])
        at = np.searchsorted(sums, [(1 - sure) / 2 * sums[-1], sums[-1] / 2, (1 + sure) / 2])
        low, middle, high = of[order][np.minimum(at, len(of) - 1)]
        return float(low), float(middle), float(high)

    @property
    def effective(self) -> float:
        """Effective sample size (Kish)."""
        return float(1 / np.sum(self.weights**2))


def sample_posterior(model: OrdinalRegression) -> Posterior:
    """Sample the posterior of a model."""
    best = _best(model)
    random = np.random.default_rng(_SEED)
    centre, spread = best, _laplace(model, best)
    for number in range(1, _ROUNDS + 1):
        values, density = _drawn(random, centre, spread)
        found = Posterior(best, values, _weights(model.posterior(values) - density))
        if number == _ROUNDS or (number >= _FEWEST and found.effective >= _ENOUGH):
            break
        weights = np.minimum(found.weights, 1 / np.sqrt(_SAMPLES))
        centre = weights @ values / weights.sum()
        spread = np.cov(values.T, aweights=weights) + 1e-8 * np.eye(len(best))
    return found


def _best(model: OrdinalRegression) -> Floats:
    """The mode of the posterior, from several starts."""

    def minus(values: Floats) -> float:
        return -float(model.posterior(values[None])[0])

    def slope(values: Floats) -> Floats:
        steps = _STEP * np.eye(len(values))
        found = -model.posterior(np.concatenate([values + steps, values - steps]))
        return (found[: len(values)] - found[len(values) :]) / (2 * _STEP)

    tries = []
    for shift in _STARTS:
        start = model.start
        start[MIDDLE] += shift
        tries.append(minimize(minus, start, jac=slope, method="BFGS"))
    return np.asarray(min(tries, key=lambda one: one.fun).x)


def _laplace(model: OrdinalRegression, best: Floats) -> Floats:
    """Laplace covariance: inverse Hessian at the mode, kept positive and within the priors."""
    size, step = len(best), 1e-2 * PRIOR[:, 1]
    moves, signs = np.eye(size) * step, (1, -1)
    corners = [best + a * i + b * j for i in moves for j in moves for a in signs for b in signs]
    found = -model.posterior(np.array(corners)).reshape(size, size, 2, 2)
    curve = (found[..., 0, 0] - found[..., 0, 1] - found[..., 1, 0] + found[..., 1, 1]) / (
        4 * np.outer(step, step)
    )
    values, vectors = np.linalg.eigh((curve + curve.T) / 2 * np.outer(PRIOR[:, 1], PRIOR[:, 1]))
    inverse = (vectors / np.clip(values, 0.7, None)) @ vectors.T
    return inverse * np.outer(PRIOR[:, 1], PRIOR[:, 1])


def _drawn(random: np.random.Generator, centre: Floats, spread: Floats) -> tuple[Floats, Floats]:
    """Samples of a multivariate t, and the logarithm of their density up to a constant."""
    size = len(centre)
    normal = random.standard_normal((_SAMPLES, size))
    scale = np.sqrt(_TAILS / random.chisquare(_TAILS, _SAMPLES))[:, None]
    values = centre + (normal * scale) @ np.linalg.cholesky(spread * 1.2).T
    distance = ((normal * scale) ** 2).sum(axis=1)
    return values, -(_TAILS + size) / 2 * np.log1p(distance / _TAILS)


def _weights(logs: Floats) -> Floats:
    weights = np.exp(logs - logs.max())
    return weights / weights.sum()
