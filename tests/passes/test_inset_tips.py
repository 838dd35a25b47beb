"""inset-tips: what it tells, what it keeps, what it leaves alone."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, MultiLineString, MultiPolygon, Point, Polygon, box
from shapely.affinity import rotate, translate

from preprocess.engine.facts import FILLED, MERGED, SEPARATE, facts_of
from preprocess.engine.ledger import imbalances, totals
from preprocess.geometry.base.polylines import ring_edges
from preprocess.geometry.tips import find_tips
from preprocess.model.artwork.artwork import Page
from preprocess.model.artwork.settings import Operation
from preprocess.model.artwork.source import Selection
from preprocess.model.bench.bench import Bench
from preprocess.passes.inset_tips import InsetTips
from tests.passes.benches import artwork, leaf, shape

SPIKE = Polygon([(10, 8), (10 + 2 / math.tan(math.radians(10)), 10), (10, 12)])
"""A triangle whose only narrow end has a half angle of 10 degrees."""

PASS = InsetTips(narrower_than=0.4, by=0.05)


def test_each_tip_is_told_with_place_retreat_and_area():
    before = replace(
        artwork([shape("a", SPIKE)]), page=Page(width=60, height=40, left=2.0, top=1.0)
    )
    out = PASS(before, Bench())
    (finding,) = out.findings
    assert finding.code == "tip-inset"
    # 0.05 / sin 10° = 0.288
    assert "retreating 0.288 mm" in finding.message
    assert finding.spot == pytest.approx((SPIKE.bounds[2], 10.0), abs=1e-3)
    lost = SPIKE.area - out.artwork.shapes[0].geometry.area
    assert f"lost {lost:.4f} mm²" in finding.message
    assert not imbalances(totals(before), out.changes, totals(out.artwork))


def test_many_tips_are_told_in_one_sentence():
    fan = MultiPolygon([translate(SPIKE, 0, 4.5 * i) for i in range(15)])
    out = PASS(artwork([shape("a", fan)]), Bench())
    assert [f.code for f in out.findings] == ["tip-inset"]
    assert out.findings[0].message.startswith("15 tips of a moved inward")


def test_a_capped_tip_is_told():
    out = InsetTips(narrower_than=0.4, by=0.05, cap=0.2)(artwork([shape("a", SPIKE)]), Bench())
    assert [f.code for f in out.findings] == ["tip-inset", "tip-capped"]
    assert "retreating 0.200 mm" in out.findings[0].message
    # 0.2 × sin 10° = 0.035
    assert "1 tip of a moved inward by 0.035 mm instead of 0.050 mm" in out.findings[1].message
    assert out.findings[1].spot == pytest.approx((SPIKE.bounds[2], 10.0), abs=1e-3)


def test_the_spread_of_what_many_tips_did_is_told():
    """Retreats of 15 spikes of 10 degrees and 14 of 5, capped at 0.4 mm: 0.05 / sin a."""
    slim = Polygon([(10, 8), (10 + 2 / math.tan(math.radians(5)), 10), (10, 12)])
    drawn = [translate(SPIKE, 0, 4.5 * n) for n in range(15)]
    drawn += [translate(slim, 60, 4.5 * n) for n in range(14)]
    out = InsetTips(narrower_than=0.4, cap=0.4)(artwork([shape("a", MultiPolygon(drawn))]), Bench())
    inset, capped = out.findings
    # 0.4 × sin 5° = 0.0349
    assert "29 tips of a moved inward by 0.035 to 0.050 mm (median 0.050)" in inset.message
    assert "retreating 0.288 to 0.400 mm (median 0.288)" in inset.message
    assert "14 tips of a moved inward by 0.035 mm instead of 0.050 mm" in capped.message


def test_a_tip_that_would_break_is_told_by_its_place():
    """A bead at the end of one blade of two: that blade is held, at its own place."""
    bead = Polygon(SPIKE).union(Point(SPIKE.bounds[2], 10).buffer(0.09, quad_segs=32))
    out = PASS(artwork([shape("a", MultiPolygon([bead, translate(SPIKE, 0, 5)]))]), Bench())
    told = {finding.code: finding for finding in out.findings}
    assert {"tip-inset"} < set(told) <= {"tip-inset", "tip-held", "tip-left"}
    (held,) = [told[code] for code in ("tip-held", "tip-left") if code in told]
    assert held.spot == pytest.approx((SPIKE.bounds[2], 10.0), abs=0.15)


def test_what_is_wide_stays_as_it_is():
    before = artwork([shape("a", box(10, 10, 20, 20)), shape("b", box(30, 10, 30.5, 20))])
    out = PASS(before, Bench())
    assert out.artwork == before
    assert out.findings == out.changes == ()


def test_lines_and_other_operations_are_left_alone():
    scored = replace(
        shape("a", SPIKE),
        operation=Operation.SCORE,
        geometry=MultiLineString([LineString([(0, 0), (9, 9)])]),
    )
    cut = replace(shape("b", SPIKE), operation=Operation.CUT)
    before = artwork([scored, cut])
    assert PASS(before, Bench()).artwork == before


def test_only_the_chosen_shapes_change():
    shapes = [shape("a", SPIKE), shape("b", translate(SPIKE, 0, 10))]
    shapes[1] = replace(shapes[1], sources=(replace(shapes[1].sources[0], label="Moth"),))
    out = replace(PASS, only=Selection(label="Moth"))(artwork(shapes), Bench()).artwork
    assert out.shapes[0] == shapes[0]
    assert out.shapes[1].geometry.area < shapes[1].geometry.area


LEAVES = st.lists(
    st.builds(
        leaf,
        st.floats(15, 45),
        st.floats(10, 30),
        st.floats(1, 9),
        st.floats(0.1, 3),
        st.floats(0, 3),
    ),
    min_size=1,
    max_size=4,
)


@settings(max_examples=40, deadline=None)
@given(LEAVES)
def test_facts_stand_and_nothing_grows(leaves):
    whole = MultiPolygon(shapely.get_parts(shapely.union_all(leaves)).tolist())
    for before in (
        artwork([shape("a", whole)]),
        artwork([shape(f"p{i}", part) for i, part in enumerate(whole.geoms)]),
    ):
        out = PASS(before, Bench())
        assert facts_of(before, "fronds") == facts_of(out.artwork, "fronds")
        assert {FILLED} <= PASS.contract.keeps <= {FILLED, MERGED, SEPARATE}
        assert not imbalances(totals(before), out.changes, totals(out.artwork))
        for old, new in zip(before.shapes, out.artwork.shapes, strict=True):
            assert new.geometry.difference(old.geometry).area < 1e-9
            assert len(new.geometry.geoms) == len(old.geometry.geoms)


@settings(max_examples=25, deadline=None)
@given(LEAVES, st.floats(-180, 180), st.floats(-50, 50))
def test_turning_the_art_turns_the_result(leaves, angle, dx):
    move = lambda g: translate(rotate(g, angle, origin=(0, 0)), dx, 0)
    art = shapely.union_all(leaves)
    here = PASS(artwork([shape("a", art)]), Bench()).artwork.shapes[0].geometry
    there = PASS(artwork([shape("a", move(art))]), Bench()).artwork.shapes[0].geometry
    # arcs are polygons whose corners do not turn along: at most 1 µm along the ends
    assert move(here).symmetric_difference(there).area < 0.02 * len(leaves)


def test_a_piece_whose_whole_edge_lies_on_the_outline_has_no_neck() -> None:
    """Seen on a drawing: a hole so near to the outline that a residue is all outline."""
    square = ring_edges(shapely.box(0, 0, 1, 1))
    assert find_tips._necks(square, np.ones(4, dtype=bool)) == 0
    assert find_tips._necks(square, np.array([True, False, True, True])) == 1
    assert find_tips._necks(square, np.array([True, False, True, False])) == 2
