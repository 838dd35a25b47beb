"""The row sweep against closed forms and against line intersections by GEOS."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon, Point, Polygon, box

from preprocess.geometry.base.sweep import rings_of, sweep_area, sweep_areas, sweep_contours

SQUARE = np.array([[0, 0], [4, 0], [4, 4], [0, 4]], float)


def spans(runs):
    return list(zip(runs.row.tolist(), runs.start.tolist(), runs.end.tolist(), strict=True))


def lengths(runs, rows):
    return np.bincount(runs.row, weights=runs.end - runs.start, minlength=rows)


def test_a_square_has_the_row_on_its_top_edge_and_not_the_one_on_its_bottom_edge():
    runs = sweep_contours([SQUARE], "nonzero", np.array([0.0, 2.0, 4.0]))
    assert spans(runs) == [(0, 0.0, 4.0), (1, 0.0, 4.0)]


def test_repeating_the_first_point_changes_nothing():
    rows = np.linspace(-1, 5, 25)
    closed = np.vstack([SQUARE, SQUARE[:1]])
    assert spans(sweep_contours([SQUARE], "nonzero", rows)) == spans(
        sweep_contours([closed], "nonzero", rows)
    )


@pytest.mark.parametrize("rows", [np.linspace(-5.3, 5.3, 531), np.array([-5, -3.1, 0.2, 4.9, 5.0])])
def test_rows_across_a_disc_are_chords(rows):
    turn = np.linspace(0, 2 * math.pi, 200_001)[:-1]
    disc = np.column_stack([5 * np.cos(turn), 5 * np.sin(turn)])
    wanted = 2 * np.sqrt(np.maximum(25 - rows**2, 0))
    found = lengths(sweep_contours([disc], "nonzero", rows), len(rows))
    # near the poles a flattened disc is narrower by up to the root of its sagitta
    inner = np.abs(rows) < 4.99
    assert found[inner] == pytest.approx(wanted[inner], abs=1e-6)
    assert found[~inner] == pytest.approx(wanted[~inner], abs=1e-3)


def test_rows_across_a_triangle_narrow_evenly():
    triangle = np.array([[0, 0], [36, 0], [18, 50]], float)
    rows = np.arange(500) * 0.1
    found = lengths(sweep_contours([triangle], "evenodd", rows), 500)
    assert found == pytest.approx(36 * (1 - rows / 50), abs=1e-12)


def test_a_square_on_its_corner_counts_each_corner_once():
    diamond = np.array([[0, -2], [2, 0], [0, 2], [-2, 0]], float)
    runs = sweep_contours([diamond], "nonzero", np.array([-2.0, -1.0, 0.0, 1.0, 2.0]))
    assert spans(runs) == [(1, -1.0, 1.0), (2, -2.0, 2.0), (3, -1.0, 1.0)]


def test_a_vertex_that_dips_onto_a_row_splits_no_run():
    notched = np.array([[0, 0], [2, 1], [4, 0], [4, 3], [0, 3]], float)
    runs = sweep_contours([notched], "nonzero", np.array([0.5, 1.0, 2.0]))
    assert spans(runs) == [(0, 0.0, 1.0), (0, 3.0, 4.0), (1, 0.0, 4.0), (2, 0.0, 4.0)]


def test_fill_rules_differ_where_contours_run_the_same_way():
    inner = SQUARE / 2 + 1
    rows = np.array([2.0])
    assert spans(sweep_contours([SQUARE, inner], "nonzero", rows)) == [(0, 0.0, 4.0)]
    assert spans(sweep_contours([SQUARE, inner], "evenodd", rows)) == [(0, 0.0, 1.0), (0, 3.0, 4.0)]
    assert spans(sweep_contours([SQUARE, inner[::-1]], "nonzero", rows)) == [
        (0, 0.0, 1.0),
        (0, 3.0, 4.0),
    ]


def test_a_curve_traced_twice_is_kept_by_nonzero_and_emptied_by_evenodd():
    rows = np.array([1.0])
    assert len(sweep_contours([SQUARE, SQUARE], "nonzero", rows)) == 1
    assert len(sweep_contours([SQUARE, SQUARE], "evenodd", rows)) == 0


def test_a_pentagram_shows_its_heart_by_nonzero_only():
    corners = np.exp(1j * (np.arange(5) * 4 * math.pi / 5 - math.pi / 2))
    star = np.column_stack([corners.real, corners.imag])
    rows = np.array([0.0])
    assert len(sweep_contours([star], "nonzero", rows)) == 1
    assert len(sweep_contours([star], "evenodd", rows)) == 2


def test_neighbours_that_share_an_edge_give_one_run():
    left = np.array([[0, 0], [1 / 3, 0], [0.7, 3], [0, 3]])
    right = np.array([[0.7, 3], [1 / 3, 0], [2, 0], [2, 3]])
    runs = sweep_contours([left, right], "nonzero", np.linspace(0.01, 2.99, 97))
    assert np.all(np.bincount(runs.row) == 1)
    assert runs.end == pytest.approx(2.0, abs=1e-12)


def test_groups_are_filled_each_by_itself():
    runs = sweep_contours([SQUARE, SQUARE + 1], "evenodd", np.array([2.0]), groups=[0, 1])
    assert runs.group.tolist() == [0, 1]
    assert runs.start.tolist() == [0.0, 1.0]
    assert runs.end.tolist() == [4.0, 5.0]


def test_many_areas_in_one_pass_are_as_each_alone():
    areas = [Point(3 * i, i).buffer(2) for i in range(7)]
    rows = np.linspace(-3, 10, 131)
    together = sweep_areas(areas, rows)
    for index, area in enumerate(areas):
        mine = together.group == index
        alone = sweep_area(area, rows)
        assert together.row[mine].tolist() == alone.row.tolist()
        assert together.start[mine].tolist() == alone.start.tolist()


@pytest.mark.parametrize("rows", [np.empty(0), np.array([1.0])])
@pytest.mark.parametrize("contours", [[], [SQUARE[:2]], [np.empty((0, 2))]])
def test_nothing_gives_nothing(rows, contours):
    assert len(sweep_contours(contours, "nonzero", rows)) == 0
    assert len(sweep_area(MultiPolygon(), rows)) == 0


def test_rings_of_an_area_are_all_listed():
    area = MultiPolygon([box(0, 0, 9, 9).difference(box(2, 2, 4, 4)), box(20, 0, 22, 2)])
    assert sorted(len(ring) for ring in rings_of(area)) == [5, 5, 5]


@settings(deadline=None, max_examples=60)
@given(
    st.lists(
        st.tuples(st.floats(-8, 8), st.floats(-8, 8), st.floats(0.2, 4), st.integers(3, 9)),
        min_size=1,
        max_size=6,
    ),
    st.floats(0.05, 0.9),
)
def test_any_area_is_cut_as_line_intersections_cut_it(blobs, pitch):
    area = shapely.union_all([Point(x, y).buffer(r, quad_segs=q) for x, y, r, q in blobs])
    area = area.difference(box(-1, -1, 0.5, 1.5))
    rows = np.arange(-12.03, 12, pitch)
    found = lengths(sweep_area(area, rows), len(rows))
    wanted = [shapely.LineString([(-30, v), (30, v)]).intersection(area).length for v in rows]
    # a row within a hair of a horizontal edge belongs to either side
    edges = np.append(shapely.get_coordinates(area)[:, 1], np.inf)
    clear = np.min(np.abs(rows[:, None] - edges[None, :]), axis=1) > 1e-9
    assert found[clear] == pytest.approx(np.array(wanted)[clear], abs=1e-9)


def test_uneven_rows_are_cut_as_well_as_even_ones():
    rows = np.sort(np.concatenate([np.linspace(-6, 6, 40), [0.001, 0.0011, 3.3]]))
    area = Polygon([(-5, -5), (6, -4), (2, 1), (5, 5), (-4, 4)])
    for index, v in enumerate(rows):
        line = shapely.LineString([(-9, v), (9, v)]).intersection(area)
        assert lengths(sweep_area(area, rows), len(rows))[index] == pytest.approx(line.length)
