"""Evidence of sets of causes, against the density of scipy's multivariate normal."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.special import logsumexp
from scipy.stats import multivariate_normal, norm

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
    heats, tilts = (tuple(random.normal(0, 2, (2, 30, n))) for n in (2, 3))
    return places, CauseColumns(
        level=np.full((30, 1), 30.0),
        heats=heats,
        tilts=tilts,
        bells=random.normal(0, 2, (30, 4)),
        shares=np.array([0.4, 0.3, 0.2, 0.1]),
    )


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
    every = [density(places, np.column_stack([columns.level, tilt])) for tilt in columns.tilts]
    assert found[frozenset({TILT})] - found[frozenset()] == pytest.approx(
        float(logsumexp(every) - np.log(2)) - alone, abs=1e-6
    )


def test_a_chosen_tilt_and_bell_count_by_their_mean(small):
    places, columns = small
    found = weigh(places, columns).logs
    alone = density(places, columns.level)
    every = [
        density(places, np.column_stack([columns.level, tilt, bell])) + np.log(share / 2)
        for tilt in columns.tilts
        for bell, share in zip(columns.bells.T, columns.shares, strict=True)
    ]
    assert found[frozenset({TILT, PATCH})] - found[frozenset()] == pytest.approx(
        float(logsumexp(every)) - alone, abs=1e-6
    )


@pytest.mark.parametrize("patch", [False, True])
def test_heat_counts_by_the_sign_of_its_amount(small, patch):
    """Amounts drawn from their prior: 95 % of the weight lies on those of the mark's sign."""
    places, columns = small
    dark = replace(places, tone=places.tone - 1.0)
    heat = columns.heats[0][:, :1]
    one = replace(columns, heats=(heat,), bells=columns.bells[:, :1], shares=np.ones(1))
    found = weigh(dark, one).logs
    amounts = np.linspace(-6, 6, 401)
    other = np.column_stack([columns.level, *([one.bells] if patch else [])])
    logs = [density(replace(dark, tone=dark.tone - a * heat[:, 0]), other) for a in amounts]
    # a dark mark grows darker with heat: its amount is below zero
    sign = np.where(amounts < 0, 2 * 0.95, np.where(amounts > 0, 2 * 0.05, 1.0))
    prior = norm.pdf(amounts) * (amounts[1] - amounts[0]) * sign
    wanted = float(logsumexp(logs, b=prior))
    some = frozenset({HEAT, PATCH} if patch else {HEAT})
    assert found[some] - found[frozenset()] == pytest.approx(
        wanted - density(dark, columns.level), abs=2e-3
    )


def test_probabilities_follow_from_the_evidence(small):
    places, columns = small
    found = weigh(places, columns)
    odds = np.log(0.35 / 0.65)
    logs = {some: log + odds * len(some) for some, log in found.logs.items()}
    total = logsumexp(list(logs.values()))
    with_tilt = logsumexp([log for some, log in logs.items() if TILT in some])
    assert found.sure[TILT] == pytest.approx(float(np.exp(with_tilt - total)))
    assert found.in_order == sorted(logs, key=lambda some: -logs[some])
