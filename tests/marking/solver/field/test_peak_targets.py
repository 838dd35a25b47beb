"""Rows of earlier rounds are warmed again by the rows that are marked between them."""

import dataclasses

import numpy as np
import pytest

from preprocess.marking.solver.field.heat_solver import solve_heat
from tests.marking.brute import rise, visits
from tests.marking.drawn import area_of, artwork, shape, square, triangle
from tests.marking.struck import SHARP, settings, struck

WIDE = dataclasses.replace(SHARP, spread=0.6)


def rounds(exposure, order, pause=0.3):
    """The rows of one raster in rounds: every so many first, one round after another."""
    found, begins = [], 0.0
    for number, first in enumerate(order):
        rows = np.arange(first, len(exposure.y), len(order))
        runs = np.flatnonzero(np.isin(exposure.row, rows))
        late = exposure.entered[runs] - exposure.at[exposure.row[runs]]
        lasts = np.diff(exposure.at, append=2 * exposure.at[-1] - exposure.at[-2])[rows]
        at = begins + np.cumsum(lasts) - lasts
        row = np.searchsorted(rows, exposure.row[runs])
        found.append(
            dataclasses.replace(
                exposure,
                step=number,
                y=exposure.y[rows],
                at=at,
                forward=exposure.forward[rows],
                row=row,
                start=exposure.start[runs],
                end=exposure.end[runs],
                entered=at[row] + late,
            )
        )
        begins = found[-1].ends + pause
    return found


def hottest(every, stuff, target, point):
    """While the beam passes near the point in any exposure, and in between."""
    times = np.sort(np.concatenate([visits(e, point[0], point[1] - 1.0, 2.0) for e in every]))
    times = times[times >= visits(target, *point, 1e-6)[0] - 1e-9]
    passes = (times[:, None] + stuff.sigma / target.speed * np.linspace(1.0, 4.0, 7)).ravel()
    fine = np.linspace(0, 1, 4, endpoint=False)
    times = np.append((times[:-1, None] + np.diff(times)[:, None] * fine).ravel(), times[-1])
    times = np.concatenate([times, passes])
    return rise(every, stuff, point, times, angle=target.angle).max()


@pytest.mark.parametrize("stuff", [SHARP, WIDE], ids=["likely", "wide"])
@pytest.mark.parametrize("order", [(0, 2, 1, 3), (0, 1)], ids=["four rounds", "two rounds"])
def test_peaks_of_interleaved_rounds_agree_with_superposition(stuff, order):
    art = artwork(shape(area_of(triangle(width=8, height=6))), settings=settings(400.0))
    every = rounds(struck(art)[0], order)
    rng = np.random.default_rng(5)
    for field in solve_heat(every, stuff, 0.1):
        rows, columns = np.nonzero(field.lit)
        for n in rng.choice(len(rows), 8, replace=False):
            point = (field.columns.centres[columns[n]], field.exposure.y[rows[n]])
            wanted = hottest(every, stuff, field.exposure, point)
            assert field.peak[rows[n], columns[n]] == pytest.approx(wanted, rel=0.02)


def test_later_rounds_matter_at_a_wide_spread():
    # otherwise the test above would pass by forgetting them
    every = rounds(
        struck(artwork(shape(square(0, 0, 6)), settings=settings(400.0)))[0], (0, 2, 1, 3)
    )
    alone, together = solve_heat(every[:1], WIDE, 0.1)[0], solve_heat(every, WIDE, 0.1)[0]
    ratio = together.peak[together.lit] / alone.peak[alone.lit]
    assert ratio.min() >= 1.0
    assert np.median(ratio) > 1.1


def test_a_shape_beside_another_raises_its_last_rows_only():
    one, two = square(0, 0, 5), square(0, 5.0, 5)
    how = {"one": settings(400.0), "two": settings(400.0)}
    every = struck(artwork(shape(one, "one"), shape(two, "two"), settings=how))
    alone, together = solve_heat(every[:1], SHARP, 0.1)[0], solve_heat(every, SHARP, 0.1)[0]
    ratio = np.where(together.lit, together.peak / alone.peak, 1.0)
    assert ratio[:-6] == pytest.approx(1.0)
    assert ratio[-1, 20] > 1.0


def test_what_is_not_asked_for_is_not_raised_but_still_heats():
    every = rounds(struck(artwork(shape(square(0, 0, 4)), settings=settings(400.0)))[0], (0, 1))
    last = solve_heat(every, SHARP, 0.1)[1]
    (only,) = solve_heat(every, SHARP, 0.1, lambda one: one.step == 1)
    assert only.peak == pytest.approx(last.peak, rel=0.01)
