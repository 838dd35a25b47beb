"""Light that changes along rows, against superposition without short cuts, and by hand."""

import dataclasses

import numpy as np
import pytest
from shapely import box

from preprocess.marking.heat.superposition import smoothed_rise
from preprocess.marking.job.grey_rows import GreyRows, grey_rows, lit_cells_area, row_angle
from preprocess.marking.machine.beam import Beam
from preprocess.marking.machine.grey_curve import grey_powers, greys_of
from preprocess.marking.solver.exposures import with_cell_light, with_rising_light
from preprocess.marking.solver.field.heat_solver import solve_heat
from preprocess.model.artwork.grey import GreyImage
from preprocess.model.bench.machine import FirstRow, Grey
from tests.marking.brute import peak
from tests.marking.drawn import artwork, shape
from tests.marking.struck import GALVO, SHARP, exposure_of_runs, settings, solved, struck

STRAIGHT = Grey(from_=0.2, to=0.8, gamma=1.0)
GREYS = dataclasses.replace(GALVO, grey=STRAIGHT)


def image_of(cells, *, cell=0.1, pitch=0.1, left=0.0, top=0.0, height=None):
    """An image on the page; cells as rows of greys."""
    cells = np.array(cells, np.uint8)
    return GreyImage(
        columns=cells.shape[1],
        rows=cells.shape[0],
        greys=cells.tobytes(),
        matrix=(cell, 0.0, 0.0, pitch, left, top),
        height=height or pitch,
    )


def leaf(image, **more):
    return dataclasses.replace(shape(lit_cells_area(image), **more), grey=image)


def checks(rows=20, columns=20):
    """Blades of dark and light, 0.4 mm wide, and a gap of white."""
    cells = np.full((rows, columns), 100)
    cells[:, ::8] = cells[:, 1::8] = cells[:, 2::8] = cells[:, 3::8] = 20
    cells[8:12, 12:14] = 255
    return cells


@pytest.mark.parametrize("two_way", [True, False])
def test_a_raster_of_greys_agrees_with_superposition(two_way):
    art = artwork(leaf(image_of(checks())), settings=settings(400.0, two_way=two_way))
    every = struck(art, machine=GREYS)
    (field,) = solve_heat(every, SHARP, 0.1)
    assert len(set(every[0].light.round(6))) == 2
    for row, column in ((2, 2), (2, 5), (3, 17), (10, 3), (10, 11), (11, 14), (17, 9), (19, 19)):
        point = (field.columns.centres[column], field.exposure.y[row])
        wanted = peak(every, every[0], SHARP, point)
        assert field.peak[row, column] == pytest.approx(wanted, rel=0.02), (row, column)


def test_even_greys_are_the_raster_at_their_power():
    # grey 84 is darkness 170/254, so 20 % + 60 % · 170/254
    image = image_of(np.full((30, 20), 84))
    art = artwork(leaf(image), settings=settings(400.0))
    (grey,) = solve_heat(struck(art, machine=GREYS), SHARP, 0.1)
    half_pitch = dataclasses.replace(GALVO, first_row=FirstRow.HALF_PITCH)
    plain = solved(box(0, 0, 2, 3), speed=400.0, power=0.2 + 0.6 * 170 / 254, machine=half_pitch)
    assert grey.exposure.y == pytest.approx(plain.exposure.y, abs=1e-9)
    assert grey.lit.sum() == plain.lit.sum() == 600
    assert grey.peak[grey.lit] == pytest.approx(plain.peak[plain.lit], rel=1e-5)


def test_heat_is_linear_in_the_light_of_cells():
    rng = np.random.default_rng(7)
    greys = rng.integers(0, 255, (12, 30))
    one = artwork(leaf(image_of(greys)), settings=settings(400.0))
    (whole,) = struck(one, machine=GREYS)
    parts = [dataclasses.replace(whole, light=np.where(whole.row % 2 == n, whole.light, 0.0))
             for n in (0, 1)]  # fmt: skip
    times = whole.entered[200] + 0.01
    rises = [smoothed_rise([e], SHARP, (1.5, 0.6), 0.0, np.array([times])) for e in (whole, *parts)]
    assert rises[0] == pytest.approx(rises[1] + rises[2], rel=1e-12)


def test_runs_are_cut_where_the_power_changes_and_keep_their_times():
    one = exposure_of_runs([(0, 0.0, 0.5), (1, 0.05, 0.32)], speed=400.0)
    back = dataclasses.replace(one, forward=np.array([True, False]))
    power = np.array([[0.5, 0.5, 0.8, 0.8, 0.2], [0.4, 0.6, 0.6, 0.6, 0.1]])
    grey = GreyRows(0.0, 0.0, 0.1, 0.0, 0.1, power)
    cut, late = with_cell_light(back, np.zeros(2), grey, np.array([0, 1]), Beam())
    assert cut.row.tolist() == [0, 0, 0, 1, 1]
    assert cut.start == pytest.approx([0.0, 0.2, 0.4, 0.05, 0.1])
    assert cut.end == pytest.approx([0.2, 0.4, 0.5, 0.1, 0.32])
    assert cut.light == pytest.approx([0.5, 0.8, 0.2, 0.4, 0.6])
    assert late == pytest.approx([0.0, 0.2, 0.4, 0.22, 0.0])
    assert cut.entered == pytest.approx(back.entered[cut.row] + late / 400.0)
    assert cut.whole is back


def test_light_rises_once_in_a_row_of_several_powers():
    one = exposure_of_runs([(0, 0.0, 0.4)], speed=400.0)
    grey = GreyRows(0.0, 0.0, 0.1, 0.0, 0.1, np.array([[0.5, 1.0, 0.5, 1.0]]))
    beam = Beam(delay=0.15 / 400.0)
    cut, late = with_cell_light(one, np.zeros(1), grey, np.array([0]), beam)
    slow = with_rising_light(cut, late, beam)
    assert slow.whole is one
    lit = float((slow.relative * (slow.end - slow.start)).sum())
    assert lit == pytest.approx(0.05 * 1.0 + 0.1 * 0.5 + 0.1 * 1.0)


def test_light_follows_the_power_above_the_offset():
    one = exposure_of_runs([(0, 0.0, 0.2)])
    grey = GreyRows(0.0, 0.0, 0.1, 0.0, 0.1, np.array([[0.1, 0.6]]))
    cut, _ = with_cell_light(one, np.zeros(1), grey, np.array([0]), Beam(offset=0.2))
    assert cut.light == pytest.approx([0.0, 0.5])


@pytest.mark.parametrize("gamma", [0.7, 1.0, 1.4])
def test_greys_give_the_power_nearest_to_the_wanted_one(gamma):
    curve = Grey(from_=0.05, to=0.8, gamma=gamma)
    known = grey_powers(curve)
    assert known[[0, 254, 255]] == pytest.approx([0.8, 0.05, 0.0])
    # in the middle of the greys: darkness 1/2
    assert known[127] == pytest.approx(0.05 + 0.75 * 0.5**gamma)
    wanted = np.linspace(0.0, 1.0, 401)
    nearest = np.abs(known[None, :255] - wanted[:, None]).argmin(axis=1)
    found = greys_of(wanted, curve)
    assert np.abs(known[found] - wanted) == pytest.approx(np.abs(known[nearest] - wanted))


@pytest.mark.parametrize("turned", ["", "half round", "mirrored", "upright"])
def test_rows_of_an_image_are_found_however_it_lies(turned):
    greys = np.array([[10, 20, 30], [40, 50, 255]], np.uint8)
    a, b, c, d, e, f = {
        "": (0.1, 0, 0, 0.4, 5, 7),
        "half round": (-0.1, 0, 0, -0.4, 5, 7),
        "mirrored": (-0.1, 0, 0, 0.4, 5, 7),
        "upright": (0, -0.1, 0.4, 0, 5, 7),
    }[turned]
    image = GreyImage(
        columns=3, rows=2, greys=greys.tobytes(), matrix=(a, b, c, d, e, f), height=0.1
    )
    angle = row_angle(image, 0.0)
    assert angle == (90.0 if turned == "upright" else 0.0)
    rows = grey_rows(image, STRAIGHT, angle)
    powers, cos, sin = grey_powers(STRAIGHT), *np.round([np.cos(np.radians(angle)),
                                                         np.sin(np.radians(angle))])  # fmt: skip
    for row in range(2):
        for column in range(3):
            # the middle of the cell on the page, by the matrix of SVG; then along and across rows
            x, y = (
                a * (column + 0.5) + c * (row + 0.5) + e,
                b * (column + 0.5) + d * (row + 0.5) + f,
            )
            u, v = x * cos - y * sin, x * sin + y * cos
            at = round((v - rows.first) / rows.pitch), int((u - rows.left) / rows.cell)
            assert rows.first + at[0] * rows.pitch == pytest.approx(v)
            assert rows.power[at] == powers[greys[row, column]]
    assert lit_cells_area(image).area == pytest.approx(5 * 0.1 * 0.1)
