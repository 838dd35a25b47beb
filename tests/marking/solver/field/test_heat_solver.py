"""The fast solver against superposition without short cuts, and against worked-out tables."""

import dataclasses

import numpy as np
import pytest
import shapely
from shapely import Point, box
from shapely.affinity import rotate

from preprocess.marking.solver.field.heat_solver import solve_heat
from tests.marking.brute import peak, rise
from tests.marking.drawn import area_of, artwork, shape, square, triangle
from tests.marking.moving import raster, rows_peak, rows_rise
from tests.marking.struck import DIFFUSE, SHARP, at, plastic, settings, solved, struck

COMB = area_of(box(0, 0, 12, 1.5), *[box(2 * i, 1.5, 2 * i + 0.6, 5) for i in range(6)])
RING = area_of(Point(0, 0).buffer(5).difference(Point(0, 0).buffer(4)))
DOTS = area_of(*[square(8 * i, 8 * j, 4) for i in range(3) for j in range(2)])
SLITS = area_of(
    Point(0, 0)
    .buffer(5)
    .difference(shapely.union_all([box(1.3 * i - 5, -4.5, 1.3 * i - 4.65, 4.5) for i in range(8)]))
)
# an F, an E and a dotted I, strokes 0.7 mm wide and hairlines
LETTERS = area_of(
    box(0, 0, 0.7, 6), box(0, 0, 3, 0.5), box(0, 2.6, 2.2, 3.1),
    box(4, 0, 4.7, 6), box(4, 0, 7, 0.5), box(4, 2.6, 6.2, 3.1), box(4, 5.5, 7, 6),
    box(8, 2, 8.7, 6), Point(8.35, 0.7).buffer(0.5), box(9.2, 0, 9.45, 6),
)  # fmt: skip
ARTWORKS = {
    "triangle": area_of(triangle(width=12, height=16)),
    "comb": COMB,
    "ring": RING,
    "lettering": LETTERS,
    "dots": DOTS,
    "disc with slits": SLITS,
}


def worst_error(fields, all_strikes, stuff, points=12, seed=1):
    rng = np.random.default_rng(seed)
    worst = 0.0
    for field in fields:
        before = [s for s in all_strikes if s.begins <= field.exposure.begins]
        rows, columns = np.nonzero(field.lit)
        for n in rng.choice(len(rows), min(points, len(rows)), replace=False):
            point = (field.columns.centres[columns[n]], field.exposure.y[rows[n]])
            wanted = peak(before, field.exposure, stuff, point)
            worst = max(worst, abs(field.peak[rows[n], columns[n]] / wanted - 1))
    return worst


@pytest.mark.parametrize("name", ARTWORKS)
@pytest.mark.parametrize("two_way", [True, False])
@pytest.mark.parametrize(("stuff", "speed"), [(SHARP, 300.0), (DIFFUSE, 1200.0)])
def test_one_raster_agrees_with_superposition(name, two_way, stuff, speed):
    art = artwork(shape(ARTWORKS[name]), settings=settings(speed, two_way=two_way))
    every = struck(art)
    assert worst_error(solve_heat(every, stuff, 0.1), every, stuff) < 0.02


def test_at_an_angle_and_with_wider_smoothing_too():
    art = artwork(shape(rotate(COMB, 25)), settings=settings(angle=40.0))
    stuff = plastic(spread=1.0)
    every = struck(art)
    assert worst_error(solve_heat(every, stuff, 0.1), every, stuff, 25) < 0.02


JOBS = {
    "a triangle in three bands": artwork(
        *[
            shape(triangle().intersection(box(0, a, 36, b)), name=f"band-{a}", level=n)
            for n, (a, b) in enumerate([(30, 36), (36, 42.03), (42.03, 50)], 1)
        ],
        settings=settings(two_way=False),
        shares=(1.0, 0.9, 0.7),
    ),
    "dots one after another": artwork(
        *[shape(square(1.2 * i, 1.2 * j, 1), name=f"{i}{j}") for i in range(4) for j in range(4)],
        settings=settings(),
    ),
    "three repeats": artwork(shape(RING), settings=settings(600.0, repeats=3)),
    "two powers, another pitch": artwork(
        shape(square(0, 0, 5), "one"),
        shape(box(1, 1, 4, 4), "two"),
        settings={
            "one": settings(),
            "two": settings(600.0, power=0.7, pitch=0.08, two_way=False),
        },
    ),
    "a layer across another": artwork(
        shape(square(0, 0, 6), "one"),
        shape(square(1.02, 1.03, 4), "two"),
        settings={"one": settings(power=0.6), "two": settings(power=0.5, angle=90.0)},
    ),
}


@pytest.mark.parametrize("name", JOBS)
@pytest.mark.parametrize("stuff", [SHARP, DIFFUSE], ids=["sharp", "diffuse"])
def test_what_came_before_is_carried_along(name, stuff):
    every = struck(JOBS[name])
    assert len(every) > 1
    assert worst_error(solve_heat(every, stuff, 0.1), every, stuff, 6) < 0.02


def test_what_came_before_matters_in_these_jobs():
    # otherwise the test above would pass by forgetting it
    for name, least in (("a triangle in three bands", 0.1), ("three repeats", 0.05)):
        every = struck(JOBS[name])
        (alone,) = solve_heat(every[-1:], SHARP, 0.1)
        together = solve_heat(every, SHARP, 0.1)[-1]
        lit = alone.lit
        assert np.max(1 - alone.peak[lit] / together.peak[lit]) > least


def test_old_small_strikes_count_as_gaussians_to_a_good_likeness():
    # dots that lie ten seconds back, beside the one that is being marked
    art = artwork(
        *[shape(square(1.1 * i, 0, 1), name=f"{i}") for i in range(4)],
        settings=settings(100.0),
    )
    pausing = struck(art)
    late = [shifted(s, 10.0 * n) for n, s in enumerate(pausing)]
    assert worst_error(solve_heat(late, SHARP, 0.1), late, SHARP, 8) < 0.01


@pytest.mark.parametrize("pause", [0.3, 2.0, 20.0])
def test_large_strikes_of_a_while_ago_count_as_tiles_to_a_good_likeness(pause):
    # a triangle, and later a ring that lies half on it and half beside it
    solid, ring = area_of(triangle(width=12, height=16)), shape(RING)
    art = artwork(shape(solid, name="first"), ring, settings=settings(600.0))
    first, second = struck(art)
    job = [first, shifted(second, pause)]
    (_, later) = solve_heat(job, SHARP, 0.1)
    (alone,) = solve_heat(job[1:], SHARP, 0.1)
    assert np.max(later.peak[later.lit] / alone.peak[later.lit]) > 1.005
    assert worst_error([later], job, SHARP, 40) < 0.005


def shifted(strike, by):
    return dataclasses.replace(strike, at=strike.at + by, entered=strike.entered + by)


def test_a_thin_part_is_solved_with_its_mirror_images():
    stuff = plastic(thickness=0.5)
    art = artwork(shape(square(0, 0, 5)), settings=settings(repeats=4))
    every = struck(art)
    thin = solve_heat(every, stuff, 0.1)
    assert worst_error(thin[-1:], every, stuff) < 0.02
    thick = solve_heat(every, SHARP, 0.1)
    assert at(thin[-1], 2.5, 2.5) > 1.05 * at(thick[-1], 2.5, 2.5)


def plastic_at(stuff, speed):
    """As much energy per mm at every speed."""
    return dataclasses.replace(stuff, watts=0.9 * speed / 300)


@pytest.mark.parametrize(
    ("stuff", "speed", "two_way"),
    [(SHARP, 300.0, True), (SHARP, 300.0, False), (DIFFUSE, 300.0, True), (DIFFUSE, 1200.0, False)],
)
def test_narrow_rows_run_hotter_than_wide_ones_by_what_a_moving_beam_gives(stuff, speed, two_way):
    # a triangle of 36 mm, 0.9 W absorbed; four times as much at 1200 mm/s
    field = solved(triangle(), plastic_at(stuff, speed), speed=speed, two_way=two_way)
    spans = [(18 - w / 2, 18 + w / 2) for w in 36 * (1 - 0.1 * np.arange(500) / 50)]
    rows = raster(spans, speed=speed, energy=3e-3, two_way=two_way)
    how = {"depth": stuff.solid.depth, "sigma": stuff.sigma, "smooth": 0.3**2 / 12}
    found, wanted = [], []
    for width in (34, 16, 8, 4, 2, 1):
        number = round(500 * (1 - width / 36))
        found.append(at(field, 18.05, 0.1 * number))
        wanted.append(rows_peak(rows, number, 18.05, speed=speed, **how))
    assert found == pytest.approx(wanted, rel=0.01)
    assert found[-1] > 1.25 * found[0]


def test_spike_and_residual_are_those_of_a_moving_beam():
    field = solved(triangle())
    spans = [(18 - w / 2, 18 + w / 2) for w in 36 * (1 - 0.1 * np.arange(500) / 50)]
    rows = raster(spans, speed=300.0, energy=3e-3, two_way=True)
    how = {"speed": 300.0, "depth": 0.05, "sigma": 0.02}
    for width in (34, 4, 1):
        number = round(500 * (1 - width / 36))
        entered, begin, *_ = rows[number]
        visit = entered + abs(18.05 - begin) / 300
        left = rows_rise(rows[:number], (18.05, 0.1 * number), visit, **how)
        spike = rows_peak(rows, number, 18.05, later=1, **how)
        assert at(field, 18.05, 0.1 * number, "spike") == pytest.approx(spike, rel=0.01)
        assert at(field, 18.05, 0.1 * number, "residual") == pytest.approx(left, abs=0.7)


@pytest.mark.parametrize("two_way", [True, False])
@pytest.mark.parametrize("depth", [0.02, 0.05, 0.15])
@pytest.mark.parametrize("speed", [100.0, 400.0, 900.0, 1800.0])
def test_a_raster_is_solved_within_a_hundredth_at_any_speed_and_depth(speed, depth, two_way):
    stuff = plastic(depth=depth, watts=0.9 * speed / 300)
    field = solved(box(0, 0, 6, 3), stuff, speed=speed, two_way=two_way)
    rows = raster([(0.0, 6.0)] * 30, speed=speed, energy=3e-3, two_way=two_way)
    how = {"speed": speed, "depth": depth, "sigma": 0.02, "smooth": 0.3**2 / 12}
    places = [(0, 3.05), (15, 3.05), (16, 0.55), (16, 5.45), (17, 5.45)]
    wanted = [rows_peak(rows, number, u, **how) for number, u in places]
    found = [at(field, u, 0.1 * number) for number, u in places]
    assert found == pytest.approx(wanted, rel=0.01)


def test_one_row_is_as_hot_as_the_moving_beam_makes_it():
    field = solved(box(0, 0, 6, 0.1), step=0.05)
    rows = raster([(0.0, 6.0)], speed=300.0, energy=3e-3, two_way=True)
    u = float(field.columns.centres[60])
    how = {"speed": 300.0, "depth": 0.05, "sigma": 0.02}
    smoothed = rows_peak(rows, 0, u, smooth=0.3**2 / 12, **how)
    assert at(field, u, 0.0) == pytest.approx(smoothed, rel=2e-3)
    assert at(field, u, 0.0, "spike") == pytest.approx(rows_peak(rows, 0, u, **how), rel=2e-3)
    assert at(field, u, 0.0, "residual") == 0.0


def test_the_peak_lies_in_the_window_that_is_searched():
    # a dense search in time far beyond the rows that the march looks at finds nothing hotter
    field = solved(square(0, 0, 4), DIFFUSE)
    (strike,) = struck(artwork(shape(square(0, 0, 4)), settings=settings()))
    point = (2.05, 2.0)
    times = np.linspace(strike.at[20], strike.ends + 0.5, 6000)
    assert at(field, *point) >= 0.999 * rise([strike], DIFFUSE, point, times).max()


def test_warmth_grows_in_proportion_to_power():
    one, half = solved(COMB), solved(COMB, power=0.5)
    assert half.peak == pytest.approx(one.peak / 2)


def test_the_column_width_hardly_matters():
    fine, coarse = solved(SLITS, step=0.05), solved(SLITS, step=0.2)
    medians = [np.median(field.peak[field.lit]) for field in (fine, coarse)]
    assert medians[0] == pytest.approx(medians[1], rel=0.02)
