"""Greedy Bayesian experimental design: settings that minimise the expected posterior variance.

Grades of the cells chosen so far are simulated from samples of the posterior taken as true
("fantasies"), and all samples are reweighted by them. The next setting leaves the least variance
over all its possible grades, averaged over the fantasies.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from preprocess.calibrate.fit.ordinal_model import grade_probabilities

if TYPE_CHECKING:
    from collections.abc import Sequence

    from preprocess.arrays import Floats
    from preprocess.calibrate.fit.posterior import Posterior


_SEED = 7
_PARTICLES = 500
_FANTASIES = 30
_TINY = 1e-300


@dataclass(frozen=True, slots=True)
class Candidate:
    """A setting to choose from, with the log heat of its cells (samples × cells)."""

    power: float
    speed: float
    heat: Floats


@dataclass(frozen=True, slots=True)
class DesignChoice:
    """The chosen settings, and the root mean variance of the quantities, before and after."""

    candidates: tuple[Candidate, ...]
    before: float
    after: float


def resample(posterior: Posterior) -> Floats:
    """Unweighted samples of the posterior by seeded resampling."""
    random = np.random.default_rng(_SEED)
    picked = random.choice(len(posterior.values), _PARTICLES, p=posterior.weights)
    return posterior.values[picked]


def choose_design(
    values: Floats, wanted: Floats, candidates: Sequence[Candidate], count: int
) -> DesignChoice:
    """Choose settings one by one.

    Args:
        values: samples of the parameters.
        wanted: quantities of interest, samples × quantities.
        candidates: settings with their heat for the same samples.
        count: number of settings to choose.
    """
    random = np.random.default_rng(_SEED)
    joint = np.stack([_joint(values, one.heat) for one in candidates], axis=1)
    truths = random.choice(len(values), _FANTASIES, replace=False)
    weights = np.full((_FANTASIES, len(values)), 1 / len(values))
    moments = np.concatenate([np.ones((len(values), 1)), wanted, wanted**2], axis=1)
    before = float(_left(moments.mean(axis=0)[None, :]))
    chosen, after = list[int](), before
    for _ in range(min(count, len(candidates))):
        left = _expected(joint, weights, moments)
        left[chosen] = np.inf
        best = int(np.argmin(left))
        chosen.append(best)
        after = float(left[best])
        for fantasy, truth in enumerate(truths):
            grades = joint[truth, best]
            seen = random.choice(len(grades), p=grades / grades.sum())
            weights[fantasy] *= joint[:, best, seen]
        weights /= weights.sum(axis=1, keepdims=True)
    spread = [float(np.sqrt(total / wanted.shape[1])) for total in (before, after)]
    return DesignChoice(tuple(candidates[n] for n in sorted(chosen)), *spread)


def _joint(values: Floats, heat: Floats) -> Floats:
    """Probability of every combination of grades of a setting's cells, samples × combinations."""
    every = grade_probabilities(heat, values)
    joint = every[:, 0, :]
    for cell in range(1, heat.shape[1]):
        joint = (joint[:, :, None] * every[:, cell, None, :]).reshape(len(values), -1)
    return joint


def _expected(joint: Floats, weights: Floats, moments: Floats) -> Floats:
    """Expected variance, summed over the quantities, after each candidate."""
    samples, candidates, outcomes = joint.shape
    flat = joint.reshape(samples, -1).T
    total = np.zeros(candidates)
    for weight in weights:
        sums = (flat @ (moments * weight[:, None])).reshape(candidates, outcomes, -1)
        total += _left(sums)
    return total / len(weights)


def _left(sums: Floats) -> Floats:
    """Variance within outcomes, from their weights, first and second moments (last axis)."""
    quantities = (sums.shape[-1] - 1) // 2
    share, first, second = np.split(sums, [1, 1 + quantities], axis=-1)
    within = second - first**2 / np.maximum(share, _TINY)
    return np.asarray(within.sum(axis=(-2, -1)))
