"""The smoothed dose against a table, and superposition against its own kernel."""

import numpy as np
import pytest
from shapely.affinity import rotate

from preprocess.geometry.base.row_frame import change_angle
from preprocess.marking.checks.arrhenius_dose import smoothed_dose
from preprocess.marking.heat.superposition import smoothed_rise, visit_times
from tests.marking.brute import rise
from tests.marking.drawn import artwork, shape, square, triangle
from tests.marking.struck import SHARP, settings, struck


def test_doses_on_a_leaf_are_as_tabled():
    every = struck(artwork(shape(triangle()), settings=settings()))
    widths = np.array([34, 8, 2, 1])
    rows = every[0].y[np.rint(500 * (1 - widths / 36)).astype(int)]
    found = smoothed_dose(every, SHARP, [(18.0, float(v)) for v in rows])
    # tabled with two figures; a dose changes by 10 % where warmth changes by 1 %
    assert found == pytest.approx([2.3e-9, 7.8e-9, 2.9e-8, 5.0e-8], rel=0.15)


def test_a_point_far_from_every_row_gets_no_dose():
    every = struck(artwork(shape(square(0, 0, 2)), settings=settings()))
    assert smoothed_dose(every, SHARP, [(50.0, 50.0)]).tolist() == [0.0]


def test_superposition_does_not_mind_the_frame_it_is_asked_in():
    every = struck(artwork(shape(rotate(square(0, 0, 3), 20)), settings=settings(angle=35.0)))
    times = np.linspace(0.05, 2.0, 40)
    along, _ = change_angle(1.5, 1.4, 0.0, 35.0)
    visited = np.concatenate([visit_times(one, along) for one in every])
    times = times[np.abs(np.subtract.outer(times, visited)).min(axis=1) > 60 * 0.02 / 300]
    assert len(times) > 20  # between visits of the beam, where local time is exact
    here = smoothed_rise(every, SHARP, (1.5, 1.4), 0.0, times)
    there = smoothed_rise(every, SHARP, change_angle(1.5, 1.4, 0.0, 77.0), 77.0, times)
    assert here == pytest.approx(there, rel=1e-9)
    assert here == pytest.approx(rise(every, SHARP, (1.5, 1.4), times), rel=1e-6)
