"""The leaning beam of a field lens, against hand calculations."""

from __future__ import annotations

import math

import pytest

from preprocess.geometry.base.row_frame import RowFrame
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.machine import Machine
from preprocess.model.bench.part import Part
from preprocess.passes.equalize_width.telecentric_error import (
    TelecentricError,
    beam_radius,
    telecentric_error_of,
)

AXIS = (50.0, 30.0)


def test_the_beam_widens_by_the_square_root_of_two_at_the_rayleigh_length():
    waist, wavelength = 0.03, 1.064e-3
    rayleigh = math.pi * waist**2 / wavelength
    assert beam_radius(0.06, wavelength, rayleigh) == pytest.approx(waist * math.sqrt(2))
    assert beam_radius(0.06, wavelength, 0.0) == pytest.approx(waist)
    assert beam_radius(0.06, None, 12.0) == pytest.approx(waist)


def test_the_beam_lands_outward_by_similar_triangles():
    # 10 mm below the focal plane, 30 mm from the axis, f 160 mm: 1.875 mm
    assert TelecentricError(axis=AXIS, height=10, focal_length=160).shift(30) == pytest.approx(
        1.875
    )


def test_a_vertical_beam_or_a_part_on_the_bed_has_no_slant():
    lens = Machine(focal_length=160.0, spot=0.06)
    flat, high = Part(outline=(1, 1)), Part(outline=(1, 1), height=9.0)
    for machine, part in ((Machine(), high), (lens, flat)):
        upright = telecentric_error_of(Bench(machine=machine, parts=(part,)), AXIS)
        assert (upright.shift(30.0), upright.half_spot) == (0.0, 0.0)
    assert telecentric_error_of(Bench(machine=lens, parts=(high,)), AXIS).height == 9.0


def test_a_hair_below_no_angle_is_no_angle():
    assert RowFrame(-1e-250).cos_sin == (1.0, 0.0)
    assert RowFrame(-90.0).cos_sin == (0.0, -1.0)
