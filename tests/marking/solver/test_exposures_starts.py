"""Rows whose light comes late and rises, against integrals over the moving beam."""

import dataclasses

import numpy as np
import pytest
from shapely import box

from preprocess.marking.machine.beam import Beam
from preprocess.marking.solver.exposures import with_rising_light
from preprocess.model.bench.machine import Machine
from tests.marking.brute import peak
from tests.marking.drawn import area_of, artwork, shape, square
from tests.marking.moving import run_peak
from tests.marking.struck import GALVO, SHARP, at, exposure_of_runs, settings, solved, struck

SLOW_START = dataclasses.replace(GALVO, power_ramp=0.15e-3, laser_on_delay=0.05e-3)


def energy_of(exposure):
    return float((exposure.energies * (exposure.end - exposure.start)).sum())


@pytest.mark.parametrize(
    ("machine", "lost"),
    # each row of 1 mm at 900 mm/s begins 0.045 mm late, and loses half of 0.135 mm in the rise
    [
        (dataclasses.replace(GALVO, laser_on_delay=0.05e-3), 0.045),
        (dataclasses.replace(GALVO, power_ramp=0.15e-3), 0.0675),
        (SLOW_START, 0.1125),
    ],
)
@pytest.mark.parametrize("two_way", [True, False])
def test_rows_lose_the_energy_of_their_beginnings(machine, lost, two_way):
    art = artwork(shape(square(0, 0, 1)), settings=settings(900.0, two_way=two_way))
    (full,), (less,) = struck(art), struck(art, machine=machine)
    assert energy_of(less) == pytest.approx((1 - lost) * energy_of(full))
    assert less.whole.start == pytest.approx(full.start)


def test_each_run_of_a_row_begins_anew():
    art = artwork(shape(area_of(box(0, 0, 1, 2), box(3, 0, 4, 2))), settings=settings(900.0))
    (full,), (less,) = struck(art), struck(art, machine=SLOW_START)
    assert energy_of(less) == pytest.approx((1 - 0.1125) * energy_of(full))


def test_where_the_part_begins_within_a_row_the_light_has_risen_already():
    # bars stand 3 mm off: the light rises over the first of them
    body = area_of(box(-1, -1, 7, 5))
    barred = shape(box(0, 0, 6, 4), bars=area_of(box(-6, 0, -3, 4), box(9, 0, 12, 4)))
    art = artwork(shape(box(-2, 0, 8, 4)), settings=settings(900.0))
    inside = struck(art, area_of(box(0, -1, 6, 5)), machine=SLOW_START)[0]
    assert energy_of(inside) == pytest.approx(inside.energy * 6 * len(inside.y))
    over_gap = struck(artwork(barred, settings=settings(900.0)), body, machine=SLOW_START)[0]
    assert energy_of(over_gap) < over_gap.energy * 6 * len(over_gap.y)


def test_a_row_shorter_than_the_delay_gets_no_light_and_is_cold():
    field = solved(box(0, 0, 0.1, 1), speed=1800.0, machine=Machine(laser_on_delay=0.1e-3))
    assert field.lit.any()
    assert field.peak[field.lit].max() == 0.0


@pytest.mark.parametrize("speed", [400.0, 900.0])
@pytest.mark.parametrize("u", [0.05, 0.15, 0.25, 1.05])
def test_the_start_of_a_row_is_as_cold_as_the_moving_beam_leaves_it(speed, u):
    late, long = 0.05e-3 * speed, 0.15e-3 * speed
    field = solved(box(0, 0, 3, 0.1), speed=speed, machine=SLOW_START)

    def light(way):
        return min(max((way - late) / long, 0.0), 1.0)

    how = {"depth": 0.05, "sigma": 0.02, "smooth": 0.3**2 / 12, "light": light}
    wanted = 0.9 / speed / 2.232e-3 * run_peak((-u, 3.0 - u), speed, **how)
    full = 0.9 / speed / 2.232e-3 * run_peak((-1.5, 1.5), speed, **{**how, "light": None})
    # within the rise, which counts as four steps, to two hundredths of the full light
    rising = {"abs": 0.02 * full} if u < late + long else {"rel": 0.01}
    assert at(field, u, 0.0) == pytest.approx(wanted, **rising)


def test_a_raster_with_slow_starts_agrees_with_superposition():
    art = artwork(shape(box(0, 0, 2, 3)), settings=settings(900.0))
    every = struck(art, machine=SLOW_START)
    field = solved(box(0, 0, 2, 3), speed=900.0, machine=SLOW_START)
    for row, column in ((12, 0), (12, 1), (12, 10), (13, 0), (13, 19), (14, 18)):
        point = (field.columns.centres[column], field.exposure.y[row])
        wanted = peak(every, every[0], SHARP, point)
        assert field.peak[row, column] == pytest.approx(wanted, rel=0.02)


def test_pieces_keep_the_times_of_the_row():
    one = exposure_of_runs([(0, 1.0, 3.0), (1, 0.5, 1.5)], speed=400.0)
    back = dataclasses.replace(one, forward=np.array([True, False]))
    cut = with_rising_light(back, np.zeros(2), Beam(delay=0.1e-3, ramp=0.2e-3))
    assert cut.whole is back
    assert (np.diff(cut.row) >= 0).all()
    for row, start, end, entered in zip(cut.row, cut.start, cut.end, cut.entered, strict=True):
        begins = start - 1.0 if row == 0 else 1.5 - end
        assert entered == pytest.approx(back.entered[row] + begins / 400.0)
    first = cut.light[cut.row == 1]
    assert first[-1] == 0.0
    assert first[0] == 1.0
