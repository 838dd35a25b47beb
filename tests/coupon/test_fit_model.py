"""The ordinal model, its posterior and the choice of the next cells, against closed forms."""

from types import SimpleNamespace

import numpy as np
import pytest
from scipy.stats import norm

from preprocess.calibrate.fit.ordinal_model import (
    HALF,
    LAPSE_RATE,
    MIDDLE,
    NOISE,
    PRIOR,
    OrdinalRegression,
    grade_probabilities,
)
from preprocess.calibrate.fit.posterior import sample_posterior
from preprocess.calibrate.heat.cell_heat import polynomial_terms
from preprocess.calibrate.next_coupon.expected_variance import Candidate, choose_design


def values(**held):
    found = PRIOR[:, 0].copy()
    found[[MIDDLE, HALF, NOISE]] = 0.0, np.log(0.2), np.log(0.05)
    for name, value in held.items():
        found[{"middle": MIDDLE, "half": HALF, "noise": NOISE}[name]] = value
    return found[None]


def test_at_a_threshold_the_grades_on_both_sides_are_as_likely():
    (at,) = grade_probabilities(np.array([[-0.2]]), values())[0]
    assert at[0] == pytest.approx(0.5 * (1 - LAPSE_RATE) + LAPSE_RATE / 4)
    # even loses only what is beyond heavy, 0.4 away: logistic(-8)
    assert at[1] == pytest.approx((0.5 - 1 / (1 + np.exp(8))) * (1 - LAPSE_RATE) + LAPSE_RATE / 4)


def test_chances_add_up_to_one_and_follow_the_heat():
    every = grade_probabilities(np.linspace(-1, 1, 9)[None], values())[0]
    assert every.sum(axis=1) == pytest.approx(np.ones(9))
    assert (np.diff(every @ np.arange(4)) >= 0).all()


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


def test_the_next_cell_is_the_one_that_splits_what_is_open():
    # the middle may be anywhere within 0.5: a cell far below is weak anyhow and tells nothing
    random = np.random.default_rng(5)
    samples = np.repeat(values(noise=np.log(0.01)), 500, axis=0)
    samples[:, MIDDLE] = random.uniform(-0.5, 0.5, 500)
    wanted = samples[:, [MIDDLE]]

    def at(heat):
        return Candidate(np.exp(heat), 1.0, np.full((500, 1), heat))

    useless, useful = at(-5.0), at(-0.2)
    choice = choose_design(samples, wanted, [useless, useful], 1)
    assert choice.candidates == (useful,)
    # half of it is left, apart from mistakes
    assert choice.before == pytest.approx(1 / np.sqrt(12), rel=0.05)
    assert choice.after == pytest.approx(0.5 / np.sqrt(12), rel=0.25)
    alone = choose_design(samples, wanted, [useless], 1)
    assert alone.after == pytest.approx(alone.before, rel=0.01)
