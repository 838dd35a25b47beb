"""Stretches along other lines, against intersections by GEOS on a lattice, and by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import MultiLineString, Point

from preprocess.preview.overlay.alongside import run_along, run_along_earlier

WAYS = [(1, 0), (0, 1), (1, 1), (1, -1), (-1, 0), (0, -1)]
PLACES = st.integers(0, 5)
LINES = st.lists(
    st.builds(
        lambda x, y, way, size: [(x, y), (x + size * way[0], y + size * way[1])],
        PLACES,
        PLACES,
        st.sampled_from(WAYS),
        st.integers(1, 4),
    ),
    min_size=1,
    max_size=8,
).map(MultiLineString)


@given(LINES, LINES)
def test_straight_lines_of_a_lattice(lines, others):
    shared = sum(line.intersection(others).length for line in lines.geoms)
    found = run_along(lines, others)
    assert found.along.length == pytest.approx(shared, abs=2e-3)
    assert found.apart.length == pytest.approx(lines.length - shared, abs=2e-3)
    assert found.along.is_empty or others.buffer(2e-4).covers(found.along)
    assert found.apart.is_empty or found.apart.intersection(others).length < 1e-3


@given(LINES)
def test_lines_along_earlier_ones_of_a_lattice(lines):
    parts = list(lines.geoms)
    shared = sum(
        line.intersection(shapely.union_all(parts[:n])).length for n, line in enumerate(parts)
    )
    found = run_along_earlier(lines)
    assert found.along.length == pytest.approx(shared, abs=2e-3)
    assert found.apart.length == pytest.approx(shapely.union_all(parts).length, abs=2e-3)


@pytest.mark.parametrize("turn", [0, 17, 90, 133])
def test_the_same_curve_with_other_corners_runs_along_all_the_way(turn):
    rim = Point(0, 0).buffer(5, quad_segs=400).exterior
    between = shapely.segmentize(shapely.affinity.rotate(rim, 0), 0.013)
    turned = MultiLineString([shapely.affinity.rotate(between, turn, origin=(9, 9))])
    found = run_along(turned, MultiLineString([shapely.affinity.rotate(rim, turn, (9, 9))]))
    assert found.along.length == pytest.approx(between.length, abs=1e-6)
    assert found.apart.is_empty


@pytest.mark.parametrize("angle", [1, 30, 90])
def test_crossings_are_no_stretches(angle):
    x, y = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    cross = run_along(MultiLineString([[(-9, 0), (9, 0)]]), MultiLineString([[(-x, -y), (x, y)]]))
    assert cross.along.is_empty
    assert cross.apart.length == pytest.approx(18, abs=0.02)


def test_a_ring_of_fine_steps_does_not_run_along_itself():
    ring = Point(0, 0).buffer(0.05, quad_segs=500).exterior
    found = run_along_earlier(MultiLineString([ring]))
    assert found.along.is_empty
    assert found.apart.length == pytest.approx(ring.length, abs=4e-4)  # where the ring closes


def test_a_ring_drawn_twice_over_in_one_line_lies_twice():
    once = [(0, 0), (8, 0), (8, 4), (0, 4)]
    found = run_along_earlier(MultiLineString([[*once, *once, (0, 0)]]))
    assert found.along.length == pytest.approx(24, abs=1e-3)


def test_many_copies_lie_twice_once():
    stem = [(0, 0), (8, 0)]
    twice = run_along_earlier(MultiLineString([stem] * 200)).along
    assert twice.length == pytest.approx(199 * 8)
    assert run_along_earlier(twice).apart.length == pytest.approx(8)


def test_nothing_runs_along_nothing():
    none, stem = MultiLineString(), MultiLineString([[(0, 0), (8, 0)]])
    assert run_along(none, stem).along.is_empty
    assert run_along(stem, none).apart.equals(stem)
    assert run_along_earlier(none).apart.is_empty


def test_rows_across_rows_make_no_more_work_than_rows():
    """Of 800 rows across 800 no pair is looked at, in place of 640 000."""
    from preprocess.preview.overlay import alongside

    row = np.arange(800) / 10
    across = [[(0, y), (80, y)] for y in row] + [[(x, 0), (x, 80)] for x in row]
    edges = alongside._edges(MultiLineString(across))
    pairs = sum(len(one) for one, _ in alongside._pairs(edges, edges, earlier=False))
    assert pairs == 1600  # each with itself
