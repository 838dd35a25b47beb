"""Levels of rows, stretches of bars and the leaning beam, against hand calculations."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import MultiPolygon, box

from preprocess.geometry.base.row_frame import RowFrame
from preprocess.geometry.rows.bars import pairs, stretches
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.machine import Machine
from preprocess.model.bench.part import Part
from preprocess.passes.equalize_width.telecentric_error import (
    TelecentricError,
    beam_radius,
    telecentric_error_of,
)
from preprocess.passes.tag_power.level_bands import level_limits, merged_runs


def test_limits_are_equal_steps_of_the_logarithm():
    assert level_limits(1.0, 16.0, 4) == pytest.approx([8, 4, 2])
    assert len(level_limits(1.0, 1.04, 4)) == 0


@pytest.mark.parametrize(
    ("levels", "least", "starts", "kinds"),
    [
        ([1, 1, 1, 2, 2, 2], 3, [0, 3], [1, 2]),
        ([1, 1, 1, 2, 1, 1, 1], 2, [0], [1]),
        ([1, 1, 1, 2, 3, 3, 3, 3], 2, [0, 3], [1, 3]),
        ([1, 1, 3, 3, 3, 2], 2, [0, 2], [1, 3]),
        ([2], 5, [0], [2]),
    ],
)
def test_short_runs_join_their_neighbour(levels, least, starts, kinds):
    first, kind = merged_runs(np.array(levels), least)
    assert (list(first), list(kind)) == (starts, kinds)


@given(st.lists(st.integers(1, 4), min_size=1, max_size=60), st.integers(1, 6))
def test_no_run_is_shorter_than_asked(levels, least):
    first, kind = merged_runs(np.array(levels), least)
    lengths = np.diff([*first, len(levels)])
    assert first[0] == 0
    assert len(first) == 1 or lengths.min() >= least
    assert all(kind[1:] != kind[:-1])
    assert set(kind) <= set(levels)


def test_stretches_of_consecutive_rows():
    assert stretches(np.array([2, 3, 4, 7, 9, 10])).tolist() == [[2, 4], [7, 7], [9, 10]]
    assert stretches(np.array([], dtype=int)).shape == (0, 2)


def test_pairs_stand_symmetrically():
    made = pairs(np.array([1.0]), np.array([4.0]), centre=10.0, span=20.0, bar=2.0)
    assert made.equals(MultiPolygon([box(0, 1, 2, 4), box(18, 1, 20, 4)]))


def test_the_beam_widens_by_the_square_root_of_two_at_the_rayleigh_length():
    waist, wavelength = 0.03, 1.064e-3
    rayleigh = math.pi * waist**2 / wavelength
    assert beam_radius(0.06, wavelength, rayleigh) == pytest.approx(waist * math.sqrt(2))
    assert beam_radius(0.06, wavelength, 0.0) == pytest.approx(waist)
    assert beam_radius(0.06, None, 12.0) == pytest.approx(waist)


def test_the_beam_lands_outward_by_similar_triangles():
    # 10 mm below the focal plane, 30 mm from the axis, f 160 mm: 1.875 mm
    assert TelecentricError(height=10, focal_length=160, half_spot=0).shift(30) == pytest.approx(
        1.875
    )


def test_a_vertical_beam_or_a_part_on_the_bed_has_no_slant():
    lens = Machine(focal_length=160.0, spot=0.06)
    assert (
        telecentric_error_of(Bench(machine=Machine(), parts=(Part(outline=(1, 1), height=9.0),)))
        is None
    )
    assert telecentric_error_of(Bench(machine=lens, parts=(Part(outline=(1, 1)),))) is None
    assert (
        telecentric_error_of(Bench(machine=lens, parts=(Part(outline=(1, 1), height=9.0),))).height
        == 9.0
    )


def test_a_hair_below_no_angle_is_no_angle():
    assert RowFrame(-1e-250).cos_sin == (1.0, 0.0)
    assert RowFrame(-90.0).cos_sin == (0.0, -1.0)
