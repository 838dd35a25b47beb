"""Dashes against hand-worked lengths."""

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from preprocess.geometry.lines.dashes import MAX_DASHES, cut_into_dashes

LINE = np.array([(0, 0), (10, 0)], float)
RING = np.array([(0, 0), (10, 0), (10, 10), (0, 10)], float)


def spans(pattern, offset=0.0, line=LINE):
    return [(d[0, 0], d[-1, 0]) for d in cut_into_dashes(line, pattern, offset, closed=False)]


@pytest.mark.parametrize(
    ("pattern", "offset", "wanted"),
    [
        ((3, 1), 0, [(0, 3), (4, 7), (8, 10)]),
        ((3, 1), 1, [(0, 2), (3, 6), (7, 10)]),
        ((3, 1), 3.5, [(0.5, 3.5), (4.5, 7.5), (8.5, 10)]),
        ((3, 1), -1, [(1, 4), (5, 8), (9, 10)]),
        ((3, 1), 41, [(0, 2), (3, 6), (7, 10)]),
        ((2,), 0, [(0, 2), (4, 6), (8, 10)]),
        ((1, 2, 3), 0, [(0, 1), (3, 6), (7, 9)]),
        ((20, 1), 0, [(0, 10)]),
        ((1, 20), 5, []),
        ((3, 0), 0, [(0, 10)]),
        ((0.1, 0), 0.03, [(0, 10)]),
        ((2, 0, 1, 1), 0, [(0, 3), (4, 7), (8, 10)]),
    ],
)
def test_where_dashes_begin_and_end(pattern, offset, wanted):
    assert spans(pattern, offset) == [pytest.approx(span) for span in wanted]


@pytest.mark.parametrize(
    "pattern", [(), (0,), (0, 0), (3, -1), (1, float("nan")), (float("inf"), 1)]
)
def test_a_pattern_that_says_nothing_leaves_the_line(pattern):
    (line,) = cut_into_dashes(LINE, pattern, 0, closed=False)
    assert line.tolist() == LINE.tolist()


def test_dashes_go_round_corners():
    bent = np.array([(0, 0), (2, 0), (2, 5)], float)
    assert [d.tolist() for d in cut_into_dashes(bent, (3, 1), 0, closed=False)] == [
        [[0, 0], [2, 0], [2, 1]],
        [[2, 2], [2, 5]],
    ]


def test_a_dash_through_the_seam_of_a_ring_is_one_dash():
    found = cut_into_dashes(RING, (3, 1), 1, closed=True)
    assert found[0].tolist() == [[0, 1], [0, 0], [2, 0]]
    assert len(found) == 10
    assert sum(shapely.LineString(d).length for d in found) == pytest.approx(30)


def test_a_ring_that_is_one_dash_stays_a_ring():
    (found,) = cut_into_dashes(RING, (100, 1), 0, closed=True)
    assert found.tolist() == [*RING.tolist(), [0, 0]]
    (same,) = cut_into_dashes(np.vstack((RING, RING[:1])), (100, 1), 0, closed=True)
    assert same.tolist() == found.tolist()


def test_an_open_line_that_ends_where_it_began_has_no_joint_there():
    closed = np.vstack((RING, RING[:1]))
    found = cut_into_dashes(closed, (3, 1), 1, closed=False)
    assert found[0].tolist() == [[0, 0], [2, 0]]
    assert found[-1].tolist() == [[0, 1], [0, 0]]


def test_a_dot_knows_the_direction_of_its_line():
    slanted = np.array([(0, 0), (6, 8)], float)
    dots = cut_into_dashes(slanted, (0, 4), 2, closed=False)
    assert [d.mean(axis=0) for d in dots] == [pytest.approx((1.2, 1.6)), pytest.approx((3.6, 4.8))]
    for dot in dots:
        along = dot[-1] - dot[0]
        assert np.hypot(*along) == pytest.approx(4e-4)
        assert along[1] / along[0] == pytest.approx(8 / 6)


def test_a_pattern_finer_than_anything_leaves_the_line():
    (line,) = cut_into_dashes(LINE, (10 / MAX_DASHES / 3,), 0, closed=False)
    assert line.tolist() == LINE.tolist()


def test_a_line_without_length_stays():
    (line,) = cut_into_dashes(np.array([(1, 1), (1, 1)], float), (1, 1), 0, closed=False)
    assert line.tolist() == [[1, 1], [1, 1]]


@pytest.mark.parametrize("length", [0.1 * 3, 0.3, 0.7 + 0.1 + 0.1])
def test_a_dash_that_would_begin_where_the_line_ends_leaves_nothing_there(length):
    line = np.array([(0, 0), (length, 0)])
    assert len(cut_into_dashes(line, (0.1, 0.2), 0, closed=False)) == round(length / 0.3)
    # and one that would end where the line begins
    assert len(cut_into_dashes(line, (0.1, length), 0.1, closed=False)) == 0
    assert len(cut_into_dashes(line, (0, 0.1), 0, closed=False)) == round(length / 0.1)


@given(
    st.lists(st.floats(0.05, 5), min_size=1, max_size=5),
    st.floats(-20, 20),
    st.booleans(),
)
def test_dashes_lie_on_the_line_and_gaps_are_as_wide_as_the_pattern_says(pattern, offset, closed):
    rng = np.random.default_rng(len(pattern))
    line = rng.uniform(0, 10, (12, 2))
    found = cut_into_dashes(line, pattern, offset, closed=closed)
    whole = shapely.LineString(np.vstack((line, line[:1])) if closed else line)
    drawn = shapely.MultiLineString(found) if found else shapely.MultiLineString()
    assert (
        shapely.distance(shapely.points(shapely.get_coordinates(drawn)), whole).max(initial=0)
        < 1e-9
    )
    assert drawn.length == pytest.approx(painted(pattern, offset, whole.length), abs=1e-9)


def painted(pattern, offset, length):
    """How much of a length is dash, by walking along it."""
    cycle = list(pattern) * (1 + len(pattern) % 2)
    at, place, total = -(offset % sum(cycle)), 0, 0.0
    while at < length:
        end = at + cycle[place % len(cycle)]
        if place % 2 == 0:
            total += max(0.0, min(end, length) - max(at, 0.0))
        at, place = end, place + 1
    return total
