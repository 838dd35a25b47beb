"""Rings beside the area they should outline: first vertex by vertex, then by what they paint."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import MultiLineString, MultiPolygon, Polygon, box

from preprocess.write.verify import ring_match
from preprocess.write.verify.ring_match import rings_of_areas, rings_of_paths, same_lines

GRID = 1e-4
LEAF = [(0.0, 0.0), (0.0, 4.0), (5.0, 4.0), (5.0, 0.0)]
HOLE = [(1.0, 1.0), (2.0, 1.0), (2.0, 2.0), (1.0, 2.0)]
"""To the eye, with y down, the leaf runs counter-clockwise and the hole clockwise."""
AREA = MultiPolygon([Polygon(LEAF, [HOLE])])


def rings(*given):
    return [np.array(ring) for ring in given]


def same_rings(area, given, grid):
    [meant], [read] = rings_of_areas([area], grid), rings_of_paths([given], grid)
    return ring_match.same_rings(meant, read, grid)


@pytest.fixture
def painted_never(monkeypatch):
    """The second way is closed, so that only vertices count."""

    def painted(_):
        raise AssertionError("the vertices did not agree")

    monkeypatch.setattr(ring_match, "painted_area", painted)


@pytest.mark.usefixtures("painted_never")
@pytest.mark.parametrize("area", [AREA, MultiPolygon([Polygon(LEAF[::-1], [HOLE[::-1]])])])
@pytest.mark.parametrize("start", range(4))
def test_rings_may_begin_anywhere_and_stand_in_any_order(area, start):
    leaf = LEAF[start:] + LEAF[:start]
    assert same_rings(area, rings(HOLE, leaf), GRID)


@pytest.mark.usefixtures("painted_never")
def test_vertices_agree_when_they_round_to_the_same_step():
    leaf = [(x + 4e-5, y - 4e-5) for x, y in LEAF]
    assert same_rings(AREA, rings(leaf, HOLE), GRID)


@pytest.mark.usefixtures("painted_never")
def test_repeated_vertices_are_one():
    leaf = [LEAF[0], *LEAF, LEAF[3], LEAF[0]]
    assert same_rings(AREA, rings(leaf, HOLE), GRID)


@pytest.mark.usefixtures("painted_never")
def test_nothing_is_outlined_by_nothing():
    assert same_rings(MultiPolygon(), [], GRID)


@pytest.mark.parametrize(
    "given",
    [
        rings(LEAF),
        rings(LEAF, HOLE, HOLE),
        rings(LEAF, HOLE, [(7, 0), (7, 1), (8, 1)]),
        rings([(0, 0), (0, 4), (5, 4), (5.001, 0)], HOLE),
        rings(LEAF, [(1.001, 1), (2.001, 1), (2.001, 2), (1.001, 2)]),
        [],
    ],
    ids=["no hole", "hole twice", "one too many", "corner off", "hole off", "none"],
)
def test_another_picture_is_seen(given):
    assert not same_rings(AREA, given, GRID)


@pytest.mark.parametrize(
    "given",
    [
        rings(LEAF[::-1], HOLE),
        rings(LEAF, HOLE[::-1]),
        rings([*LEAF, (2.5, 0.0)], HOLE),
        rings([(0, 0), (0, 4), (2, 4), (2, 0)], [(2, 0), (2, 4), (5, 4), (5, 0)], HOLE),
    ],
    ids=["leaf turned", "hole turned", "vertex on an edge", "in two"],
)
def test_rings_that_only_run_otherwise_paint_the_same(given):
    assert same_rings(AREA, given, GRID)


def test_a_sliver_of_two_steps_is_rounding_and_one_of_three_is_not():
    wide = [(0, 0), (0, 4), (5.00019, 4), (5.00019, 0)]
    wider = [(0, 0), (0, 4), (5.0003, 4), (5.0003, 0)]
    assert same_rings(AREA, rings(wide, HOLE), GRID)
    assert not same_rings(AREA, rings(wider, HOLE), GRID)


def test_only_what_disagrees_is_painted(monkeypatch):
    asked = []
    real = ring_match.painted_area
    monkeypatch.setattr(
        ring_match, "painted_area", lambda given: asked.append(given) or real(given)
    )
    area = MultiPolygon([*AREA.geoms, box(7, 0, 8, 1)])
    same_rings(area, rings(LEAF, HOLE, [(7, 0), (7, 1), (8, 1)]), GRID)
    assert [[len(ring) for ring in given] for given in asked] == [[4], [3]]


@pytest.mark.parametrize(
    ("read", "same"),
    [
        ([([(0, 0), (3, 0)], False), ([(0, 1), (1, 1), (1, 2)], True)], True),
        ([([(0, 0), (3.00004, 0)], False), ([(0, 1), (1, 1), (1, 2)], True)], True),
        ([([(0, 0), (3.0001, 0)], False), ([(0, 1), (1, 1), (1, 2)], True)], False),
        ([([(3, 0), (0, 0)], False), ([(0, 1), (1, 1), (1, 2)], True)], False),
        ([([(0, 1), (1, 1), (1, 2)], True), ([(0, 0), (3, 0)], False)], False),
        ([([(0, 0), (3, 0)], False), ([(0, 1), (1, 1), (1, 2)], False)], False),
        ([([(0, 0), (3, 0)], False)], False),
    ],
)
def test_lines_come_back_in_order_and_vertex_by_vertex(read, same):
    """The third line is shorter than half a step and may lack."""
    meant = MultiLineString(
        [[(0, 0), (3, 0)], [(0, 1), (1, 1), (1, 2), (0, 1)], [(7, 7), (7.00004, 7)]]
    )
    assert same_lines(meant, [(np.array(p, float), closed) for p, closed in read], GRID) is same
