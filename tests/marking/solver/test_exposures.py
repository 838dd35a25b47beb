"""What reaches a body: runs cut where the body ends, and their energy."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import MultiLineString, box

from preprocess.geometry.base.sweep import Runs
from preprocess.marking.solver.exposures import overlapping_runs
from tests.marking.drawn import area_of, artwork, shape
from tests.marking.struck import settings, struck

COMB = area_of(box(0, 0, 1.03, 0.3), box(2.5, 0, 4, 0.3), box(4.1, 0, 4.12, 0.3))


def runs_of(rows):
    flat = [(row, a, b) for row, runs in enumerate(rows) for a, b in runs]
    row, start, end = zip(*flat, strict=True) if flat else ((), (), ())
    row = np.array(row, np.int64)
    return Runs(row, np.array(start, float), np.array(end, float), np.zeros_like(row))


cuts = st.lists(st.integers(0, 40), max_size=12, unique=True).map(sorted)
rows_of_runs = st.lists(
    cuts.map(lambda c: [(a / 4, b / 4) for a, b in zip(c[::2], c[1::2], strict=False)]),
    min_size=1,
    max_size=4,
)


@given(rows_of_runs, rows_of_runs)
def test_overlap_is_what_geometry_says(one, other):
    other = (other + [[]] * len(one))[: len(one)]
    pieces, origin = overlapping_runs(runs_of(one), runs_of(other))
    mine = runs_of(one)
    assert np.all(mine.row[origin] == pieces.row)
    assert np.all((pieces.start >= mine.start[origin]) & (pieces.end <= mine.end[origin]))
    for row, (a, b) in enumerate(zip(one, other, strict=True)):
        lines = [MultiLineString([[(x, 0), (y, 0)] for x, y in runs]) for runs in (a, b)]
        wanted = lines[0].intersection(lines[1]).length
        here = pieces.row == row
        assert (pieces.end - pieces.start)[here].sum() == pytest.approx(wanted)


def test_energy_on_the_body_is_power_over_speed_times_lit_length():
    body = area_of(box(0.5, -1, 3, 0.12))
    (strike,) = struck(artwork(shape(COMB), settings=settings(power=0.5)), body)
    assert strike.energy == pytest.approx(0.9 * 0.5 / 300)
    assert (strike.end - strike.start).sum() == pytest.approx(2 * (0.53 + 0.5))
    assert len(strike.y) == 2
