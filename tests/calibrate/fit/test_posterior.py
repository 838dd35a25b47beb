"""The sampled posterior, against a known Gaussian and known thresholds."""

from types import SimpleNamespace

import numpy as np
import pytest
from scipy.stats import norm

from preprocess.calibrate.fit.ordinal_model import (
    HALF,
    MIDDLE,
    NOISE,
    PRIOR,
    OrdinalRegression,
)
from preprocess.calibrate.fit.posterior import sample_posterior
from preprocess.calibrate.heat.cell_heat import polynomial_terms


def values(**held):
    found = PRIOR[:, 0].copy()
    found[[MIDDLE, HALF, NOISE]] = 0.0, np.log(0.2), np.log(0.05)
    for name, value in held.items():
        found[{"middle": MIDDLE, "half": HALF, "noise": NOISE}[name]] = value
    return found[None]


def gaussian(mean, covariance):
    """Grades whose posterior is a Gaussian: what is known of it in closed form."""
    inverse = np.linalg.inv(covariance)

    def posterior(at):
        away = at - mean
        return -0.5 * np.einsum("ni,ij,nj->n", away, inverse, away)

    return SimpleNamespace(start=np.zeros(len(mean)), posterior=posterior)


def test_mean_and_intervals_are_those_of_a_known_gaussian():
    sd = PRIOR[:, 1] * np.linspace(0.2, 1.0, len(PRIOR))
    turn = np.eye(len(sd)) + 0.5 * np.eye(len(sd), k=1) + 0.5 * np.eye(len(sd), k=-1)
    mean, covariance = np.linspace(-0.2, 0.2, len(sd)), turn * np.outer(sd, sd)
    found = sample_posterior(gaussian(mean, covariance))
    assert found.mean() == pytest.approx(mean, abs=0.05)
    assert found.sd() == pytest.approx(sd, rel=0.06)
    low, middle, high = found.interval(found.values[:, 0])
    assert (high - low) / 2 == pytest.approx(norm.ppf(0.95) * sd[0], rel=0.06)
    assert middle == pytest.approx(mean[0], abs=0.1 * sd[0])
    assert found.effective > 1000


def test_the_same_grades_give_the_same_samples():
    seen = gaussian(np.zeros(len(PRIOR)), np.diag(PRIOR[:, 1] ** 2))
    one, other = sample_posterior(seen), sample_posterior(seen)
    assert np.array_equal(one.values, other.values)
    assert np.array_equal(one.weights, other.weights)


def test_many_grades_find_the_thresholds_they_were_drawn_from():
    random = np.random.default_rng(3)
    heat = random.uniform(-0.6, 0.8, 300)
    seen_heat = heat + random.logistic(0, 0.04, 300)
    grade = (seen_heat[:, None] > np.array([-0.15, 0.15, 0.5])).sum(axis=1)
    index = np.zeros((300, len(polynomial_terms(np.zeros(1), np.zeros(1))[0])))
    index[:, 0] = heat  # the same for every spread and depth
    none = np.zeros(300)
    found = sample_posterior(OrdinalRegression(index, index, none, none, none, grade))
    low, middle, high = found.interval(found.values[:, MIDDLE])
    assert middle == pytest.approx(0.0, abs=0.03)
    assert low < 0.0 < high
    assert np.exp(found.mean()[HALF]) == pytest.approx(0.15, rel=0.15)
    assert np.exp(found.mean()[NOISE]) == pytest.approx(0.04, rel=0.4)
