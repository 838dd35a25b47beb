"""Exposures and tiles in a few numbers: energy, place and spread against uniform rectangles."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import box

from preprocess.marking.solver.lumped_sources import lumped_sources
from preprocess.marking.solver.tiles import concatenated, exposure_tiles
from tests.marking.drawn import artwork, shape
from tests.marking.struck import settings, struck

WIDE, HIGH, ENERGY = 6.0, 3.0, 0.9 / 300.0 * 6.0 * 30
"""A rectangle at a pitch of 0.1 mm: 30 rows of 0.9 W at 300 mm/s."""


@pytest.fixture(scope="module")
def rectangle():
    (exposure,) = struck(artwork(shape(box(1, 2, 1 + WIDE, 2 + HIGH)), settings=settings()))
    return exposure


def test_a_rectangle_has_its_energy_in_the_middle_and_the_variance_of_its_sides(rectangle):
    found = lumped_sources([rectangle], 0.0)
    assert found.energy == pytest.approx([ENERGY])
    # rows lie at the upper edges of their strips: half a pitch above the middle
    assert found.centre[0] == pytest.approx([1 + WIDE / 2, 2 + HIGH / 2 - 0.05])
    assert found.variance[0] == pytest.approx([WIDE**2 / 12, HIGH**2 / 12])
    assert found.begins == pytest.approx([rectangle.begins])
    assert found.ends == pytest.approx([rectangle.ends])


def test_in_another_frame_centre_and_box_turn_with_it(rectangle):
    found = lumped_sources([rectangle], 90.0)
    plain = lumped_sources([rectangle], 0.0)
    u, v = plain.centre[0]
    assert found.centre[0] == pytest.approx([-v, u])
    left, top, right, bottom = plain.box[0]
    assert found.box[0] == pytest.approx([-bottom, left, -top, right])
    assert found.variance[0] == pytest.approx([plain.variance[0].mean()] * 2)


@pytest.mark.parametrize("count", [2, 3])
def test_tiles_share_out_the_energy_and_together_spread_as_the_whole(rectangle, count):
    whole, tiles = lumped_sources([rectangle], 0.0), exposure_tiles(rectangle, count, 0.0)
    share = tiles.energy / tiles.energy.sum()
    assert len(tiles.energy) == count**2
    assert tiles.energy.sum() == pytest.approx(ENERGY)
    assert share @ tiles.centre == pytest.approx(whole.centre[0])
    # law of total variance
    spread = share @ (tiles.variance + (tiles.centre - whole.centre[0]) ** 2)
    assert spread == pytest.approx(whole.variance[0], rel=2e-3)


def test_tiles_are_struck_in_order(rectangle):
    tiles = exposure_tiles(rectangle, 2, 0.0)
    upper, lower = tiles.centre[:, 1] < 3.4, tiles.centre[:, 1] > 3.4
    assert tiles.begins[upper].max() < tiles.begins[lower].min()
    assert np.array_equal(tiles.begins, tiles.ends)


def test_sources_one_after_another_keep_their_order(rectangle):
    one, other = lumped_sources([rectangle], 0.0), exposure_tiles(rectangle, 2, 0.0)
    both = concatenated([one, other])
    assert both.energy.tolist() == [*one.energy, *other.energy]
    assert both.only(np.array([0])).centre.tolist() == one.centre.tolist()
