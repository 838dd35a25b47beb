from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiLineString, MultiPolygon, box, unary_union
from shapely.affinity import rotate, translate

from preprocess.engine.ledger import imbalances, totals
from preprocess.findings import Severity
from preprocess.model.artwork.settings import Operation
from preprocess.model.artwork.shape import Stroke
from preprocess.model.artwork.source import Selection
from preprocess.model.bench.bench import Bench
from preprocess.passes.drop_duplicates import DropDuplicates
from preprocess.passes.strokes_to_areas import StrokesToAreas
from tests.passes.strategies import artwork, shape

SCORE, CUT, GUIDE = Operation.SCORE, Operation.CUT, Operation.GUIDE


def lines(name, *points, operation=SCORE, **more):
    plain = shape(name, box(0, 0, 1, 1), operation=operation, **more)
    return replace(plain, geometry=MultiLineString(list(points)))


def run(*shapes, **params):
    art = artwork(shapes)
    outcome = DropDuplicates(**params)(art, Bench())
    assert not imbalances(totals(art), outcome.changes, totals(outcome.artwork))
    return outcome


def ids(outcome):
    return [s.id for s in outcome.artwork.shapes]


VEIN = [(0, 0), (4, 0), (4, 3)]
RING = [(0, 0), (4, 0), (4, 3), (0, 0)]


@pytest.mark.parametrize(
    ("points", "gone"),
    [
        (VEIN[::-1], True),
        ([(0, 0), (2, 0), (4, 0), (4, 3)], True),  # one more point on the way
        ([(0, 0.004), (4, 0), (4, 3)], True),
        ([(0, 0.02), (4, 0), (4, 3)], False),
        ([(0, 0), (4, 0)], True),  # all of it runs along
        ([(0, 0), (4, 3)], False),
        ([(0, 0), (4, 0), (4, 3), (8, 3)], False),
    ],
)
def test_a_line_that_lies_on_another(points, gone):
    outcome = run(lines("a", VEIN), lines("b", points))
    assert ids(outcome) == (["a"] if gone else ["a", "b"])


@pytest.mark.parametrize(
    ("points", "left"),
    [
        ([(0, 0), (4, 0), (4, 3), (8, 3)], [[(4, 3), (8, 3)]]),
        ([(-2, 0), (2, 0)], [[(-2, 0), (0, 0)]]),
        ([(1, 0.005), (3, 0.005), (3, 2)], [[(3, 0.0101), (3, 2)]]),
        ([(4, 5), (4, -2)], [[(4, 5), (4, 3)], [(4, 0), (4, -2)]]),
        ([(6, 1), (4, 1), (4, 2), (6, 2)], [[(6, 1), (4, 1)], [(4, 2), (6, 2)]]),
        ([(2, -3), (2, 3)], [[(2, -3), (2, 3)]]),  # a crossing
        ([(1, 1), (3.9, 0.1), (4.05, 0.1)], [[(1, 1), (3.9, 0.1), (4.05, 0.1)]]),
        ([(0, 0.02), (3, 0.02)], [[(0, 0.02), (3, 0.02)]]),
        ([(3, 0), (3.15, 0), (3.15, 1)], [[(3, 0), (3.15, 0), (3.15, 1)]]),  # less than 20 × 0.01
        ([(0, 8), (5, 8), (2, 8)], [[(0, 8), (2, 8)], [(2, 8), (5, 8)]]),  # back over itself
    ],
)
def test_of_a_line_that_runs_along_another_the_rest_stays(points, left):
    outcome = run(lines("a", VEIN), lines("b", points))
    assert outcome.artwork.shapes[0].geometry == MultiLineString([VEIN])
    (rest,) = (s.geometry for s in outcome.artwork.shapes[1:])
    want = MultiLineString(left)
    assert rest.hausdorff_distance(want) < 1e-5
    assert rest.length == pytest.approx(want.length, abs=1e-5)
    lost = sum(math.dist(a, b) for a, b in pairwise(points)) - want.length
    assert [f.code for f in outcome.findings] == (["stretches-dropped"] if lost > 0.02 else [])
    if outcome.findings:
        assert outcome.findings[0].message.startswith(
            f"removed {lost:.2f} mm of repeated lines in layer leaflets"
        )
        assert run(*outcome.artwork.shapes).artwork.shapes == outcome.artwork.shapes


def test_stretches_in_two_layers_are_told_with_both():
    outcome = run(lines("a", VEIN), lines("b", [(2, 0), (9, 0)], layer="name"))
    (finding,) = outcome.findings
    assert (finding.code, finding.severity) == ("stretches-in-two-layers", Severity.WARN)
    assert "layer name would score 2.00 mm along lines of layer leaflets" in finding.message
    assert "b on a" in finding.message
    assert finding.remedy


def test_of_a_grid_of_rings_each_edge_is_marked_once():
    """Nine squares of 4 mm: 12 edges across and 12 upright, of 4 mm each."""
    squares = [box(4 * x, 4 * y, 4 * x + 4, 4 * y + 4) for x in range(3) for y in range(3)]
    outcome = run(*(lines(f"s{i}", s.exterior.coords) for i, s in enumerate(squares)))
    left = [s.geometry for s in outcome.artwork.shapes]
    assert sum(line.length for line in left) == pytest.approx(24 * 4, abs=1e-4)
    assert unary_union(left).length == pytest.approx(24 * 4, abs=1e-4)


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10_000), st.floats(-180, 180))
def test_turned_lines_lose_as_much_and_nothing_is_left_unmarked(seed, angle):
    rng = np.random.default_rng(seed)
    ways = np.round(rng.uniform(0, 20, (6, 4, 2)))
    drawn = [lines(f"l{i}", way) for i, way in enumerate(ways)]
    after = [s.geometry for s in run(*drawn).artwork.shapes]
    every = unary_union([s.geometry for s in drawn])
    assert unary_union(after).buffer(0.0102).covers(every)
    turn = lambda s: replace(s, geometry=rotate(s.geometry, angle, origin=(0, 0)))
    again = [s.geometry for s in run(*map(turn, drawn)).artwork.shapes]
    assert sum(g.length for g in again) == pytest.approx(sum(g.length for g in after), abs=0.1)


def test_rings_with_another_start_or_turn():
    shapes = [lines("a", RING)]
    for i in range(3):
        points = [*RING[i:3], *RING[: i + 1]]
        shapes += [lines(f"f{i}", points), lines(f"b{i}", points[::-1])]
    assert ids(run(*shapes)) == ["a"]


def test_how_far_apart_is_set_by_the_recipe():
    beside = [(x, y + 0.05) for x, y in VEIN]
    assert ids(run(lines("a", VEIN), lines("b", beside))) == ["a", "b"]
    assert ids(run(lines("a", VEIN), lines("b", beside), within=0.06)) == ["a"]


def test_of_a_shape_only_the_lines_that_repeat_go():
    outcome = run(lines("a", VEIN), lines("b", [(9, 9), (9, 5)], VEIN[::-1], [(9, 9), (9, 5)]))
    assert ids(outcome) == ["a", "b"]
    assert outcome.artwork.shapes[1].geometry == MultiLineString([[(9, 9), (9, 5)]])
    assert outcome.changes[0].removed.length - outcome.changes[0].added.length == 7 + 4
    (finding,) = outcome.findings
    assert (finding.code, finding.elements) == ("duplicates-dropped", ("b",))
    assert "b on a" in finding.message


def test_areas_go_part_by_part():
    dots = MultiPolygon([box(0, 0, 1, 1), box(3, 0, 4, 1)])
    outcome = run(
        shape("dots", dots), shape("copy", dots.geoms[1]), shape("more", translate(dots, 3))
    )
    assert ids(outcome) == ["dots", "more"]
    assert outcome.artwork.shapes[1].geometry.equals(MultiPolygon([box(6, 0, 7, 1)]))


def test_a_hole_makes_another_area():
    full = box(0, 0, 4, 4)
    assert len(ids(run(shape("a", full), shape("b", full - box(1, 1, 2, 2))))) == 2


@pytest.mark.parametrize("operation", [CUT, GUIDE])
def test_other_operations_are_other_marks(operation):
    assert ids(run(lines("a", VEIN), lines("b", VEIN, operation=operation))) == ["a", "b"]


def test_guides_are_not_marked_and_stay():
    assert len(ids(run(lines("a", VEIN, operation=GUIDE), lines("b", VEIN, operation=GUIDE)))) == 2


def test_two_layers_of_one_operation_are_both_named():
    outcome = run(lines("a", VEIN), lines("b", VEIN, layer="name"))
    assert ids(outcome) == ["a"]
    (finding,) = outcome.findings
    assert (finding.code, finding.severity) == ("duplicates-in-two-layers", Severity.WARN)
    assert "layer name would score shapes of layer leaflets again" in finding.message
    assert "b on a" in finding.message
    assert finding.remedy


def test_only_what_is_chosen_is_compared():
    a, b, c = lines("a", VEIN, label="Name"), lines("b", VEIN), lines("c", VEIN)
    assert ids(run(a, b, c, only=Selection(label="Leaflets"))) == ["a", "b"]


def stroked(name, width, **more):
    return replace(lines(name, VEIN, **more), stroke=Stroke(width=width))


@pytest.mark.parametrize(
    ("traced", "kept"),
    [(None, "wide"), (Operation.ENGRAVE, "wide"), (SCORE, "fine"), (CUT, "fine")],
)
def test_the_widest_of_strokes_stays_where_its_width_may_matter(traced, kept):
    how = traced or SCORE
    shapes = [
        stroked(name, width, operation=how)
        for name, width in (("fine", 0.2), ("wide", 2), ("wide-too", 2), ("middling", 1))
    ]
    art = artwork(shapes)
    art = replace(art, layers=tuple(replace(layer, operation=traced) for layer in art.layers))
    after = DropDuplicates()(art, Bench()).artwork
    assert [s.id for s in after.shapes] == [kept]
    if traced is None:
        (area,) = StrokesToAreas()(after, Bench()).artwork.shapes
        assert area.geometry.area == pytest.approx(2 * 7)


def test_other_lines_keep_their_rank_among_strokes():
    veins = [stroked("fine", 0.2), lines("plain", VEIN), stroked("wide", 2)]
    art = artwork(veins)
    art = replace(art, layers=tuple(replace(layer, operation=None) for layer in art.layers))
    assert [s.id for s in DropDuplicates()(art, Bench()).artwork.shapes] == ["wide"]


def test_many_are_counted_not_all_spelt_out():
    (finding,) = run(*(lines(f"v{i}", VEIN) for i in range(12))).findings
    assert len(finding.elements) == 11
    assert finding.message.endswith("and 3 more")
