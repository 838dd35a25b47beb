"""Dark moves of galvo and gantry, against equations of uniform acceleration."""

from __future__ import annotations

import numpy as np
import pytest

from preprocess.marking.machine.motion import Motion, motion_of
from preprocess.model.artwork.settings import Direction
from preprocess.model.bench.machine import Gaps, Machine, Mover

WIDTH = np.array([12.0, 3.0])


def test_a_galvo_turns_and_flies_back_over_the_row_that_it_leaves():
    motion = Motion(turnaround=1.5e-3, fly_back=3000.0)
    one_way = motion.between_rows(600.0, WIDTH, Direction.ONE_WAY)
    assert one_way == pytest.approx([1.5e-3 + 0.004, 1.5e-3 + 0.001])
    assert motion.between_rows(600.0, WIDTH, Direction.TWO_WAY) == pytest.approx([1.5e-3, 1.5e-3])


def test_without_a_fly_back_speed_the_beam_returns_as_fast_as_it_marks():
    assert Motion(turnaround=0.0).between_rows(600.0, WIDTH, None) == pytest.approx([0.02, 0.005])


def test_a_gantry_brakes_and_speeds_up_at_both_ends_of_two_way_rows():
    motion = Motion(acceleration=2000.0)
    # 100 mm/s to rest takes 50 ms, and 50 ms back up to speed
    assert motion.between_rows(100.0, WIDTH, Direction.TWO_WAY) == pytest.approx([0.1, 0.1])


def test_a_gantry_flies_back_from_rest_to_rest_over_row_and_run_ups():
    motion = Motion(acceleration=2000.0, fly_back=200.0)
    # run-ups of 2.5 mm on each side; 200 mm/s is reached after 10 mm, and as much to brake
    short, long = 12.0 + 5.0, 60.0 + 5.0
    triangle = 2 * np.sqrt(short / 2000.0)
    trapezium = 2 * 0.1 + (long - 20.0) / 200.0
    found = motion.between_rows(100.0, np.array([12.0, 60.0]), Direction.ONE_WAY)
    assert found == pytest.approx([0.1 + triangle, 0.1 + trapezium])


def test_software_that_adds_overscan_runs_on_at_speed_before_it_brakes():
    # run-up 2.5 mm; of 7.5 mm added, 5 mm are passed at 100 mm/s, at both ends: 0.1 s more
    motion = Motion(acceleration=2000.0, overscan=7.5)
    two_way = motion.between_rows(100.0, WIDTH, Direction.TWO_WAY)
    assert two_way == pytest.approx([0.2, 0.2])
    # and the way back is 12 + 15 mm from rest to rest at 100 mm/s: 0.27 + 0.05 s
    one_way = motion.between_rows(100.0, WIDTH[:1], Direction.ONE_WAY)
    assert one_way == pytest.approx([0.2 + 0.27 + 0.05])


def test_an_overscan_of_just_the_run_up_changes_nothing():
    plain, added = Motion(acceleration=2000.0), Motion(acceleration=2000.0, overscan=2.5)
    for way in Direction:
        mine, theirs = (m.between_rows(100.0, WIDTH, way) for m in (plain, added))
        assert mine == pytest.approx(theirs)


def test_both_formulas_of_a_way_from_rest_to_rest_meet_where_the_top_speed_is_just_reached():
    motion = Motion(acceleration=1000.0, fly_back=100.0)
    below, above = (motion.hop(10.0 * share, 0.0, 0.0) for share in (1 - 1e-9, 1 + 1e-9))
    assert below == pytest.approx(0.2)
    assert above == pytest.approx(below, rel=1e-8)


def test_a_hop_of_a_gantry_brakes_from_one_path_and_speeds_up_for_the_next():
    # 40 ms down from 80 mm/s, 10 ms up to 20 mm/s, and 2 √(8/2000) s for 8 mm
    hop = Motion(acceleration=2000.0).hop(8.0, 80.0, 20.0)
    cruising = 8.0 / 80.0 + 80.0 / 2000.0
    assert hop == pytest.approx(0.05 + cruising)


def test_a_hop_of_a_galvo_is_a_turnaround_and_the_way():
    assert Motion(turnaround=2e-3, fly_back=500.0).hop(5.0, 100.0, 100.0) == pytest.approx(0.012)


@pytest.mark.parametrize(("gaps", "speed"), [(Gaps.SWEPT, 400.0), (Gaps.JUMPED, 2500.0)])
def test_gaps_are_crossed_as_the_software_does(gaps, speed):
    assert Motion(fly_back=2500.0, gaps=gaps).across_gaps(400.0) == speed


@pytest.mark.parametrize(
    ("machine", "turnaround", "acceleration", "assumed"),
    [
        (Machine(turnaround=0.002, fly_back=900), 0.002, None, ()),
        (Machine(fly_back=900), 1.2e-3, None, ("a turnaround of 1.2 ms",)),
        (Machine(mover=Mover.GANTRY, turnaround=0.002, fly_back=900), 0.002, None, ()),
        (Machine(mover=Mover.GANTRY, acceleration=500, fly_back=900), 1.2e-3, 500, ()),
        (
            Machine(mover=Mover.GANTRY),
            1.2e-3,
            3000.0,
            ("an acceleration of 3000 mm/s²", "dark moves at the speed of the rows"),
        ),
    ],
)
def test_what_the_file_leaves_open_is_assumed_and_said(machine, turnaround, acceleration, assumed):
    motion, words = motion_of(machine)
    assert (motion.turnaround, motion.acceleration) == (turnaround, acceleration)
    assert words == assumed
