"""Rows as images: against sums over intervals and over error functions."""

import numpy as np
import pytest
from scipy.special import ndtr
from shapely import LineString, box

from preprocess.marking.solver.field.lit_cells import lit_cells
from preprocess.marking.solver.row_images import (
    ColumnGrid,
    arrival_times,
    blurred_image,
    blurred_runs,
    centred_coverage,
    column_coverage,
    column_grid,
)
from tests.marking.drawn import area_of, artwork, shape
from tests.marking.struck import settings, struck

COMB = area_of(box(0, 0, 1.03, 0.3), box(2.5, 0, 4, 0.3), box(4.1, 0, 4.12, 0.3))


def spread_out(image, variances):
    out = np.empty((len(image), len(variances), image.shape[1]), np.float32)
    blurred_image(image, 0.1, np.array(variances), out, slice(0, image.shape[1]))
    return out


def strike_of(geometry=COMB, **how):
    (strike,) = struck(artwork(shape(geometry), settings=settings(**how)))
    return strike


def test_coverage_is_the_share_of_each_column_that_is_lit():
    columns = ColumnGrid(-0.5, 0.25, 20)
    found = column_coverage(strike_of(), columns)
    edges = columns.edges
    for number in range(columns.count):
        column = LineString([(edges[number], 0.05), (edges[number + 1], 0.05)])
        wanted = COMB.intersection(column).length / 0.25
        assert found[:, number] == pytest.approx(wanted, abs=1e-6)


def test_arrivals_follow_the_beam_and_wait_at_the_nearest_light_in_the_dark():
    columns = ColumnGrid(0.0, 0.5, 9)
    found = arrival_times(strike_of(), columns)
    row = 4.12 / 300 + 1.2e-3
    # middles at 0.25 … 4.25; dark from 1.03 to 2.5, whose middle is 1.765
    nearest = np.array([0.25, 0.75, 1.03, 1.03, 2.5, 2.75, 3.25, 3.75, 4.12])
    assert found[0] == pytest.approx(nearest / 300, abs=1e-9)
    assert found[1] == pytest.approx(row + (4.12 - nearest) / 300, abs=1e-9)
    assert found[2] == pytest.approx(2 * row + nearest / 300, abs=1e-9)


@pytest.mark.parametrize("variance", [0.0004, 0.005, 0.04])
def test_both_blurs_are_sums_of_error_functions(variance):
    columns = column_grid(-2.0, 6.0, 0.1)
    strike = strike_of()
    ends = [(0, 1.03), (2.5, 4), (4.1, 4.12)]
    deviation = np.sqrt(variance)
    away = [((columns.centres - a) / deviation, (columns.centres - b) / deviation) for a, b in ends]
    wanted = sum(ndtr(low) - ndtr(high) for low, high in away)
    fine = np.empty((len(strike.y), 1, columns.count), np.float32)
    blurred_runs(strike, columns, np.array([variance]), fine)
    fine = fine[0, 0]
    assert fine == pytest.approx(wanted, abs=1e-6)
    if variance > 3 * columns.step**2:
        coarse = spread_out(centred_coverage(strike, columns), [variance])[0, 0]
        assert coarse == pytest.approx(wanted, abs=2e-3)


def test_blurring_keeps_the_energy():
    columns = column_grid(-6.0, 10.0, 0.1)
    image = centred_coverage(strike_of(), columns)
    for kept in spread_out(image, [0.05, 0.5, 2.0])[0]:
        assert kept.sum() == pytest.approx((1.03 + 1.5 + 0.02) / 0.1, rel=1e-4)


def test_only_full_columns_count_but_a_short_run_has_one_all_the_same():
    lit = lit_cells(strike_of(), ColumnGrid(0.0, 0.1, 42)).lit
    assert lit[0].nonzero()[0].tolist() == [*range(10), *range(25, 40), 41]
