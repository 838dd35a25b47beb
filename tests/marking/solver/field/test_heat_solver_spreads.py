"""One march gives the peaks at several spreads: each against superposition at that spread alone."""

import dataclasses

import numpy as np
import pytest

from preprocess.marking.solver.field.heat_solver import solve_heat
from tests.marking.brute import peak
from tests.marking.drawn import area_of, artwork, shape, square, triangle
from tests.marking.struck import SHARP, settings, struck

SEVERAL = dataclasses.replace(SHARP, other_spreads=(0.15, 0.6))

JOBS = {
    "a triangle by itself": artwork(
        shape(area_of(triangle(width=12, height=8))), settings=settings(two_way=False)
    ),
    "two squares, one after another": artwork(
        shape(square(0, 0, 4), "one"),
        shape(square(0.5, 0.55, 3), "two"),
        settings={"one": settings(), "two": settings(600.0, power=0.7)},
    ),
}


@pytest.mark.parametrize("name", JOBS)
def test_each_spread_agrees_with_superposition_at_that_spread(name):
    every, rng = struck(JOBS[name]), np.random.default_rng(3)
    for field in solve_heat(every, SEVERAL, 0.1):
        before = [s for s in every if s.begins <= field.exposure.begins]
        rows, columns = np.nonzero(field.lit)
        for n in rng.choice(len(rows), 8, replace=False):
            point = (field.columns.centres[columns[n]], field.exposure.y[rows[n]])
            for found, spread in zip(field.peaks, (0.3, 0.15, 0.6), strict=True):
                alone = dataclasses.replace(SHARP, spread=spread)
                wanted = peak(before, field.exposure, alone, point)
                assert found[rows[n], columns[n]] == pytest.approx(wanted, rel=0.02)


def test_the_likely_spread_comes_first():
    every = struck(JOBS["a triangle by itself"])
    (several,), (one,) = solve_heat(every, SEVERAL, 0.1), solve_heat(every, SHARP, 0.1)
    assert several.peak[one.lit] == pytest.approx(one.peak[one.lit], rel=1e-5)
