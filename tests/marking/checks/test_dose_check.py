"""The second opinion agrees with the index on which of two places is the hotter."""

from __future__ import annotations

import pytest
from shapely import Polygon

from preprocess.marking.checks.dose_check import second_opinion
from preprocess.marking.prediction import predict
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.machine import Machine
from tests.marking.drawn import artwork, shape, square

TRIANGLE = Polygon([(0, 0), (12, 0), (6, 16)])
BENCH = Bench(machine=Machine(spot=0.08, turnaround=1.2e-3, fly_back=2500, rated_power=1.5))


def opinion_of(drawn):
    found = predict(drawn, BENCH, surely=False)
    return second_opinion(found.heat, found.plan, found.schedule, drawn, BENCH)


def opinion(area):
    return opinion_of(artwork(shape(area)))


def test_the_tip_of_a_leaf_is_hotter_by_index_and_by_dose():
    found = opinion(TRIANGLE)
    assert found is not None
    assert found.spot[1] > 12
    assert found.index > 1.05
    assert found.dose is not None
    assert found.dose > found.index


def test_nothing_lit_has_no_opinion():
    assert opinion_of(artwork()) is None


def test_a_square_has_no_place_that_stands_out():
    found = opinion(square(0, 0, 10))
    assert found is not None
    assert found.index == pytest.approx(1.0, abs=0.05)
