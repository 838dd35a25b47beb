"""Times against hand calculations: both movers, both directions, both gap rules."""

import dataclasses
import math

import numpy as np
import pytest
from shapely import MultiLineString, box

from preprocess.marking.job.plan import plan_of
from preprocess.marking.job.schedule import schedule_of
from preprocess.model.artwork.settings import Direction, Settings
from preprocess.model.bench.machine import Gaps, Machine, Mover, RasterGroups
from tests.marking.drawn import ENGRAVED, area_of, artwork, shape, square, triangle

TWO_WAY = dataclasses.replace(ENGRAVED, direction=Direction.TWO_WAY)
GALVO = Machine(turnaround=1.2e-3, fly_back=2500.0)
GANTRY = Machine(mover=Mover.GANTRY, acceleration=3000.0, fly_back=500.0)
COMB = area_of(box(0, 0, 1, 0.3), box(3, 0, 4, 0.3), box(9, 0, 10, 0.3))
"""Three teeth of 1 mm; gaps of 2 and 5 mm; three rows at 0.1 mm."""


def timed(art, machine):
    return schedule_of(plan_of(art, machine), machine)


def jumping(machine):
    return dataclasses.replace(machine, gaps=Gaps.JUMPED)


HAND = {
    # three rows of 4 mm at 300 mm/s; back over 4 mm at 2500 mm/s after the turnaround
    "label, galvo, one-way": (
        artwork(shape(box(0, 0, 4, 0.3))),
        GALVO,
        3 * 4 / 300 + 2 * (0.0012 + 4 / 2500),
    ),
    "comb, galvo, two-way, gaps swept": (
        artwork(shape(COMB), settings=TWO_WAY),
        GALVO,
        3 * 10 / 300 + 2 * 0.0012,
    ),
    "comb, galvo, two-way, gaps jumped": (
        artwork(shape(COMB), settings=TWO_WAY),
        jumping(GALVO),
        3 * (3 / 300 + 7 / 2500) + 2 * 0.0012,
    ),
    "comb, galvo, one-way, gaps jumped": (
        artwork(shape(COMB)),
        jumping(GALVO),
        3 * (3 / 300 + 7 / 2500) + 2 * (0.0012 + 10 / 2500),
    ),
    # slowing down and speeding up take 0.1 s each, over 15 mm each
    "label, gantry, two-way": (
        artwork(shape(box(0, 0, 4, 0.3)), settings=TWO_WAY),
        GANTRY,
        3 * 4 / 300 + 2 * 0.2,
    ),
    # back over 4 + 30 mm: too short for 500 mm/s, which takes 83.3 mm to reach and leave
    "label, gantry, one-way": (
        artwork(shape(box(0, 0, 4, 0.3))),
        GANTRY,
        3 * 4 / 300 + 2 * (0.2 + 2 * math.sqrt(34 / 3000)),
    ),
    "wide label, gantry, one-way, gap jumped": (
        artwork(shape(area_of(box(0, 0, 10, 0.2), box(50, 0, 60, 0.2)))),
        jumping(GANTRY),
        2 * (20 / 300 + 40 / 500) + 0.2 + 90 / 500 + 500 / 3000,
    ),
    # two dots, each swept by itself, twice over; 3 mm and back 3 mm between the dots
    "dots, galvo, two repeats": (
        artwork(
            shape(box(0, 0, 1, 0.1), name="a"),
            shape(box(4, 0, 5, 0.1), name="b"),
            settings=dataclasses.replace(ENGRAVED, repeats=2),
        ),
        GALVO,
        4 * 1 / 300 + 2 * (0.0012 + 3 / 2500) + (0.0012 + 5 / 2500),
    ),
    # a row of 3 mm, a pause of 0.5 s, 4 mm down, then a vein of 3 mm at 20 mm/s
    "label and vein, galvo": (
        artwork(shape(box(0, 0, 3, 0.1)), shape(MultiLineString([[(3, 4), (3, 7)]]))),
        GALVO,
        3 / 300 + (0.0012 + 4 / 2500) + 3 / 20,
    ),
}


@pytest.mark.parametrize("name", HAND)
def test_the_job_takes_what_was_worked_out_by_hand(name):
    art, machine, seconds = HAND[name]
    assert timed(art, machine).total == pytest.approx(seconds, abs=1e-9)


def test_layers_and_pauses_add_up_to_the_total():
    machine = dataclasses.replace(GALVO, layer_pause=2.0)
    art = artwork(shape(square(0, 0, 1), "one"), shape(square(0, 5, 1), "two"))
    found = timed(art, machine)
    first, second = found.layers
    # ten rows of 1 mm in each; the second begins at (0, 5), the first ends at (1, 0.9)
    rows = 10 / 300 + 9 * (0.0012 + 1 / 2500)
    assert (first.lasts, second.lasts) == pytest.approx((rows, rows), abs=1e-9)
    between = 2.0 + 0.0012 + math.hypot(1, 4.1) / 2500
    assert second.begins - first.ends == pytest.approx(between, abs=1e-9)
    assert found.total == pytest.approx(2 * rows + between, abs=1e-9)
    assert found.setting_up == 120.0


def test_rows_start_as_worked_out_and_runs_are_entered_in_the_direction_of_travel():
    art = artwork(shape(COMB), settings=TWO_WAY)
    (visit,) = timed(art, GALVO).visits
    assert visit.begins + visit.timed.rows_at == pytest.approx(
        [0, 10 / 300 + 0.0012, 2 * (10 / 300 + 0.0012)]
    )
    second = 10 / 300 + 0.0012
    wanted = [0, 3 / 300, 9 / 300, second + 9 / 300, second + 6 / 300, second]
    assert visit.begins + visit.timed.runs_at[:6] == pytest.approx(wanted, abs=1e-12)
    (jumped,) = timed(art, jumping(GALVO)).visits
    wanted = [0, 1 / 300 + 2 / 2500, 2 / 300 + 7 / 2500]
    assert jumped.begins + jumped.timed.runs_at[:3] == pytest.approx(wanted, abs=1e-12)
    row = 3 / 300 + 7 / 2500 + 0.0012
    wanted = [row + 2 / 300 + 7 / 2500, row + 1 / 300 + 5 / 2500, row]
    assert jumped.begins + jumped.timed.runs_at[3:6] == pytest.approx(wanted, abs=1e-12)


def test_return_times_are_from_start_to_start_and_do_not_span_blank_bands():
    art = artwork(shape(area_of(square(0, 0, 0.3), box(0, 5, 2, 5.2), box(0, 9, 1, 9.1))))
    (visit,) = timed(art, GALVO).visits
    short, long = 0.3 / 300 + 0.0012 + 0.3 / 2500, 2 / 300 + 0.0012 + 2 / 2500
    assert visit.timed.returns[:5] == pytest.approx([short] * 3 + [long] * 2, abs=1e-12)
    assert np.isnan(visit.timed.returns[5])
    (layer,) = timed(art, GALVO).layers
    assert layer.shortest_return == pytest.approx(short)
    assert layer.longest_return == pytest.approx(long)
    assert layer.rows == 6


def test_a_leaf_takes_the_time_of_the_sum_over_its_rows():
    # 500 rows of 36 (1 - k/500) mm: the sum of the widths is 36 · 250.5
    (layer,) = timed(artwork(shape(triangle()), settings=TWO_WAY), GALVO).layers
    assert layer.lasts == pytest.approx(36 * 250.5 / 300 + 499 * 0.0012, abs=1e-9)
    assert layer.marked == pytest.approx(36 * 250.5)


def test_bars_lengthen_every_row_alike():
    bars = area_of(box(-4, 0, -2, 1), box(12, 0, 14, 1))
    art = artwork(shape(area_of(box(0, 0, 10, 0.5), box(4, 0.5, 6, 1)), bars=bars))
    (layer,) = timed(art, GALVO).layers
    assert layer.shortest_return == pytest.approx(18 / 300 + 0.0012 + 18 / 2500, abs=1e-12)
    assert layer.longest_return == pytest.approx(layer.shortest_return, abs=1e-12)
    assert layer.swept == pytest.approx(180.0)
    assert layer.marked == pytest.approx(5 * 14 + 5 * 6)


def test_what_the_machine_file_leaves_open_is_said():
    art = artwork(shape(square(0, 0, 1)))
    assert timed(art, GALVO).assumed == ()
    found = timed(art, Machine())
    assert found.assumed == ("a turnaround of 1.2 ms", "dark moves at the speed of the rows")
    assert found.total == pytest.approx(19 / 300 + 9 * 0.0012, abs=1e-9)
    gantry = timed(art, Machine(mover=Mover.GANTRY, fly_back=500))
    assert gantry.assumed == ("an acceleration of 3000 mm/s²",)
    fixed = timed(art, Machine(mover=Mover.GANTRY, fly_back=500, turnaround=0.05))
    assert fixed.assumed == ()
    assert fixed.total == pytest.approx(10 / 300 + 9 * (0.05 + 1 / 500), abs=1e-9)


def test_a_layer_without_speed_is_named_and_left_out():
    art = artwork(
        shape(square(0, 0, 1), "one"),
        shape(square(3, 0, 1), "two"),
        settings={"one": ENGRAVED, "two": Settings(pitch=0.1)},
    )
    found = timed(art, GALVO)
    assert found.untimed == ("two",)
    assert [layer.output.id for layer in found.layers] == ["one"]
    assert found.setting_up == 120.0


def test_an_empty_plan_takes_no_time():
    found = timed(artwork(), GALVO)
    assert (found.total, found.layers, found.visits) == (0.0, (), ())


def test_a_turned_drawing_swept_at_its_angle_takes_the_same_time():
    from shapely.affinity import rotate

    upright = timed(artwork(shape(triangle())), GALVO).total
    turned = shape(rotate(triangle(), -30, origin=(0, 0)))
    settings = dataclasses.replace(ENGRAVED, angle=30.0)
    assert timed(artwork(turned, settings=settings), GALVO).total == pytest.approx(
        upright, rel=1e-6
    )


def test_a_colour_swept_together_has_longer_returns_than_its_paths_alone():
    dots = [shape(square(8 * i, 0, 4), name=f"dot-{i}") for i in range(6)]
    machine = dataclasses.replace(GALVO, raster_groups=RasterGroups.EACH_COLOUR)
    (together,) = timed(artwork(*dots), machine).layers
    (alone,) = timed(artwork(*dots), GALVO).layers
    assert together.shortest_return == pytest.approx(44 / 300 + 0.0012 + 44 / 2500)
    assert alone.shortest_return == pytest.approx(4 / 300 + 0.0012 + 4 / 2500)
