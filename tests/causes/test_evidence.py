"""Evidence of sets of causes, against the density of scipy's multivariate normal."""

import numpy as np
import pytest
from scipy.special import logsumexp
from scipy.stats import multivariate_normal

from preprocess.causes.evidence import CauseColumns, weigh
from preprocess.causes.found import HEAT, PATCH, TILT
from preprocess.causes.marked_places import MarkedPlaces


@pytest.fixture(scope="module")
def small():
    random = np.random.default_rng(8)
    x, y = random.uniform(0, 12, (2, 30))
    none = np.zeros(30)
    tone = random.normal(0, 1, 30) + 0.3 * x
    places = MarkedPlaces(x, y, tone - tone.mean(), none, none, np.full(30, 4.0))
    held = [np.full((30, 1), 30.0), *(random.normal(0, 2, (30, n)) for n in (3, 2, 2, 4))]
    return places, CauseColumns(*held)


def density(places, columns):
    """Log density of the tones, summed over the tried sizes of slow field and grain."""
    away = (places.x[:, None] - places.x) ** 2 + (places.y[:, None] - places.y) ** 2
    logs = [
        multivariate_normal.logpdf(
            places.tone,
            cov=columns @ columns.T + slow**2 * np.exp(-away / 50) + grain**2 * np.eye(len(places)),
        )
        for slow in (0.35, 0.7)
        for grain in (0.3, 0.5, 0.8, 1.3)
    ]
    return float(logsumexp(logs))


def test_evidence_is_the_density_of_the_tones(small):
    places, columns = small
    found = weigh(places, columns).logs
    alone = density(places, columns.level)
    hot = np.column_stack([columns.level, columns.heat])
    assert found[frozenset({HEAT})] - found[frozenset()] == pytest.approx(
        density(places, hot) - alone, abs=1e-6
    )


def test_a_chosen_bend_and_bell_count_by_their_mean(small):
    places, columns = small
    found = weigh(places, columns).logs
    alone = density(places, columns.level)
    every = [
        density(places, np.column_stack([columns.level, columns.plane, bend, bell]))
        for bend in columns.bends.T
        for bell in columns.bells.T
    ]
    assert found[frozenset({TILT, PATCH})] - found[frozenset()] == pytest.approx(
        float(logsumexp(every) - np.log(8)) - alone, abs=1e-6
    )


def test_probabilities_follow_from_the_evidence(small):
    places, columns = small
    found = weigh(places, columns)
    odds = np.log(0.35 / 0.65)
    logs = {some: log + odds * len(some) for some, log in found.logs.items()}
    total = logsumexp(list(logs.values()))
    with_tilt = logsumexp([log for some, log in logs.items() if TILT in some])
    assert found.sure[TILT] == pytest.approx(float(np.exp(with_tilt - total)))
    assert found.likeliest == max(logs, key=logs.get)
