"""Orders of points: against all orders of few points, plain loops, and what many points need."""

from __future__ import annotations

from itertools import permutations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from preprocess.geometry.rows.two_opt import two_opt
from preprocess.geometry.rows.visit_order import (
    hilbert_index,
    hilbert_order,
    path_length,
    recent_distances,
    short_path_order,
    spread_order,
    visit_spacing,
    weighted_order,
)

POINTS = st.lists(st.tuples(st.integers(0, 300), st.integers(0, 300)), min_size=1, max_size=40).map(
    lambda many: np.array(many, dtype=float) / 3
)


def grid(columns, rows, step=1.0):
    x, y = np.meshgrid(np.arange(columns), np.arange(rows))
    return np.stack([x.ravel(), y.ravel()], 1) * step


def test_four_cells_are_visited_in_a_u():
    assert hilbert_index(grid(2, 2)).argsort().tolist() == [0, 2, 3, 1]


@pytest.mark.parametrize("size", [2, 4, 8, 64])
def test_the_curve_goes_from_each_cell_to_one_beside_it(size):
    points = grid(size, size)
    way = points[hilbert_order(points)]
    assert set(np.abs(np.diff(way, axis=0)).sum(axis=1)) == {1.0}


def test_the_curve_fills_one_quadrant_after_the_other():
    points = grid(8, 8)
    way = points[hilbert_order(points)]
    quadrants = [{(x // 4, y // 4) for x, y in way[i : i + 16]} for i in range(0, 64, 16)]
    assert [len(q) for q in quadrants] == [1, 1, 1, 1]


@given(POINTS, st.integers(1, 7))
def test_the_window_is_that_of_a_plain_loop(points, window):
    wanted = [
        min(np.hypot(*(points[i] - points[j])) for j in range(max(0, i - window), i))
        for i in range(1, len(points))
    ]
    assert recent_distances(points, window) == pytest.approx(np.array(wanted))


def test_a_visit_five_back_counts_and_one_six_back_does_not():
    points = np.array([(0, 0), (10, 0), (20, 0), (30, 0), (40, 0), (0, 1), (10, 1)], dtype=float)
    assert recent_distances(points)[-2:].tolist() == [1, 1]
    points = np.insert(points, 5, (50, 0), axis=0)
    assert recent_distances(points)[-2:].tolist() == pytest.approx([10 * 1.00498756, 10])


@settings(deadline=None)
@given(POINTS, st.sampled_from(["cool", "short", "half"]))
def test_each_point_is_visited_once(points, how):
    order = {
        "cool": spread_order,
        "short": short_path_order,
        "half": lambda p: weighted_order(p, 0.5),
    }[how](points)
    assert sorted(order.tolist()) == list(range(len(points)))


@given(st.lists(st.tuples(st.integers(0, 9), st.integers(0, 9)), min_size=3, max_size=6))
def test_a_short_way_is_near_the_shortest_of_all(many):
    points = np.array(many, dtype=float)
    shortest = min(path_length(points[list(order)]) for order in permutations(range(len(points))))
    assert shortest - 1e-9 <= path_length(points[short_path_order(points)]) <= 2 * shortest + 1e-9


def test_a_crossing_is_undone():
    points = np.array([(0, 0), (5, 5), (5, 0), (0, 5)], dtype=float)
    order = two_opt(points, np.arange(4))
    assert path_length(points[order]) == 15


@given(POINTS)
def test_turning_stretches_never_makes_a_way_longer(points):
    given_ = np.arange(len(points))
    assert path_length(points[two_opt(points, given_)]) <= path_length(points) + 1e-9


def test_a_lattice_is_walked_row_by_row_or_nearly():
    points = grid(12, 12)
    assert 143 <= path_length(points[short_path_order(points)]) <= 143 * 1.12


@pytest.mark.parametrize(("columns", "rows"), [(100, 100), (141, 142)])
def test_many_seeds_are_far_from_the_last_five(columns, rows):
    """Shares of a field of 100 mm: what file order and chance come to are 1 and about 3 %."""
    points = grid(columns, rows, 100 / columns)
    way = points[spread_order(points, repair=False)]
    steps = np.hypot(*np.diff(way, axis=0).T)
    assert steps.min() >= 15
    assert visit_spacing(way) >= 10
    chance = points[np.random.default_rng(0).permutation(len(points))]
    assert visit_spacing(way) >= 3 * visit_spacing(chance)
    mended = points[spread_order(points)]
    assert visit_spacing(mended) > visit_spacing(way)
    assert recent_distances(mended).min() > recent_distances(way).min()


def test_a_mix_lies_between_coolness_and_a_short_way():
    points = grid(30, 30)
    ways = [points[weighted_order(points, weight)] for weight in (0.0, 0.3, 0.5, 0.7, 1.0)]
    assert np.all(np.diff([path_length(way) for way in ways]) >= 0)
    assert path_length(ways[0]) == pytest.approx(path_length(points[short_path_order(points)]))
    assert visit_spacing(ways[-1]) >= visit_spacing(points[spread_order(points)])
    assert visit_spacing(ways[0]) < visit_spacing(ways[-1])


@pytest.mark.parametrize("count", [0, 1, 2])
def test_few_points(count):
    points = grid(1, count) if count else np.empty((0, 2))
    for order in (spread_order(points), short_path_order(points), weighted_order(points, 0.5)):
        assert sorted(order.tolist()) == list(range(count))


def test_points_on_one_spot_have_an_order():
    points = np.zeros((7, 2))
    for order in (spread_order(points), short_path_order(points), weighted_order(points, 0.5)):
        assert sorted(order.tolist()) == list(range(7))
