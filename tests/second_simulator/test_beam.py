"""Times and rows by hand: 1.2 ms turnaround, fly-back at 2500 mm/s, 0.3 s between colours."""

from __future__ import annotations

import numpy as np
import pytest

from tests.second_simulator.beam import Laser, Setting, clipped, light_of
from tests.second_simulator.drawing import Path

BLACK, RED = "#000000", "#ff0000"


def box(left, top, right, bottom, colour=BLACK):
    ring = [(left, top), (right, top), (right, bottom), (left, bottom), (left, top)]
    return Path(colour, filled=True, even_odd=True, lines=(np.array(ring, float),))


def line(x0, y0, x1, y1, colour=BLACK):
    return Path(colour, filled=False, even_odd=False, lines=(np.array([(x0, y0), (x1, y1)]),))


def test_one_way_rows_fly_back():
    light = light_of([box(1, 1, 5, 1.25)], {BLACK: Setting(0.5, 400.0)}, Laser())
    assert light.y == pytest.approx([1.0, 1.1, 1.2])
    each = 4 / 400 + 0.0012 + 4 / 2500
    assert light.t0 == pytest.approx([0, each, 2 * each])
    assert light.lasts == pytest.approx(2 * each + 4 / 400)
    assert light.energy == pytest.approx([0.5 / 400] * 3)


def test_two_way_rows_alternate_and_gaps_are_swept_or_jumped():
    paths = [box(0, 0, 2, 0.2), box(4, 0, 5, 0.2)]
    setting = {BLACK: Setting(1.0, 500.0, two_way=True)}
    swept = light_of(paths, setting, Laser())
    assert swept.forward.tolist() == [True, True, False, False]
    assert swept.t0 == pytest.approx([0, 4 / 500, 5 / 500 + 0.0012, 5 / 500 + 0.0012 + 3 / 500])
    jumped = light_of(paths, setting, Laser(jumps_gaps=True))
    assert jumped.lasts == pytest.approx(swept.lasts - 2 * (2 / 500 - 2 / 2500))


@pytest.mark.parametrize(("rule", "first"), [("edge", 0.53), ("half-pitch", 0.58), ("page", 0.6)])
def test_the_first_row(rule, first):
    light = light_of([box(0, 0.53, 2, 1)], {BLACK: Setting(1.0, 500.0)}, Laser(first_row=rule))
    assert light.y[0] == pytest.approx(first)


def test_a_path_at_a_time_and_a_colour_at_a_time():
    paths = [box(0, 0, 1, 0.1), box(3, 0, 4, 0.1), box(0, 2, 1, 2.1, RED)]
    setting = dict.fromkeys((BLACK, RED), Setting(1.0, 500.0))
    apart = light_of(paths, setting, Laser(each_colour=False))
    hop = 0.0012 + 2 / 2500
    assert apart.t0[1] == pytest.approx(1 / 500 + hop)
    after = apart.t0[1] + 1 / 500
    assert apart.t0[2] == pytest.approx(after + 0.3 + 0.0012 + np.hypot(4, 2) / 2500)


def test_rows_without_light_cost_nothing():
    ladder = [box(0, 0, 2, 0.1), box(0, 0.4, 2, 0.5)]
    light = light_of(ladder, {BLACK: Setting(1.0, 500.0)}, Laser())
    assert light.y == pytest.approx([0, 0.4])
    assert light.lasts == pytest.approx(2 * 2 / 500 + 0.0012 + 2 / 2500)


def test_own_rows_are_traced_as_they_stand():
    lines = [line(0, 0, 2, 0), line(2, 0.4, 0, 0.4)]
    light = light_of(lines, {BLACK: Setting(1.0, 500.0)}, Laser())
    assert light.forward.tolist() == [True, False]
    assert light.t0[1] == pytest.approx(2 / 500 + 0.0012 + 0.4 / 2500)


def test_rows_at_a_right_angle():
    light = light_of([box(1, 2, 3, 6)], {BLACK: Setting(1.0, 500.0, angle=90.0)}, Laser())
    # u runs upwards on the page, v to the right
    assert light.y[0] == pytest.approx(1.0)
    assert (light.a[0], light.b[0]) == pytest.approx((-6.0, -2.0))
    assert len(light.y) == 20


def test_what_falls_beside_the_part_is_cut_off_but_takes_its_time():
    light = light_of([box(0, 0, 4, 0.1)], {BLACK: Setting(1.0, 400.0)}, Laser())
    part = clipped(light, (1, 0, 3, 5))
    assert (part.a[0], part.b[0], part.t0[0]) == pytest.approx((1, 3, 1 / 400))
