"""Crossings of closed lines: stars have as many as a formula says, simple rings none."""

import numpy as np
import pytest

from preprocess.geometry.overlay.crossings import FEW_SEGMENTS, count_crossings


def star(points: int, step: int) -> np.ndarray:
    turn = 2 * np.pi * (step * np.arange(points) % points) / points
    return np.column_stack((np.cos(turn), np.sin(turn)))


@pytest.mark.parametrize("points", [65, 101, 201])
def test_in_the_sharpest_star_each_chord_crosses_all_but_its_neighbours(points):
    assert count_crossings([star(points, points // 2)], 10**6) == points * (points - 3) // 2


def test_a_ring_crosses_nothing_and_counting_ends_early():
    assert count_crossings([star(5000, 1)], 100) == 0
    assert 100 < count_crossings([star(5001, 2500)], 100) < 5001 * 4998 // 20


def test_two_rings_that_overlap_cross_twice():
    assert count_crossings([star(100, 1), np.add(star(100, 1), (0.501, 0.003))], 10) == 2


def test_few_segments_are_not_counted():
    assert count_crossings([star(FEW_SEGMENTS - 1, FEW_SEGMENTS // 2 - 1)], 10) == 0


def test_rings_of_different_lengths_are_counted_together():
    """A wheel within a wheel crosses nothing; moved onto the rim, it crosses that twice."""
    inner = star(40, 1) / 2
    assert count_crossings([star(100, 1), inner], 10) == 0
    assert count_crossings([star(100, 1), np.add(inner, (0.7, 0.003))], 10) == 2
