"""compensate-spot against closed forms, and against plain offsets where nothing is thin."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiLineString, MultiPolygon, Point, Polygon, box

from preprocess.errors import Refusal
from preprocess.geometry.offset.safe_offset import KeptKind, offset_safely
from preprocess.model.artwork.settings import Operation
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.filament import Filament
from preprocess.model.bench.machine import Machine
from preprocess.passes.compensate_spot import CompensateSpot, Lines
from preprocess.testing import check_pass
from tests.passes.benches import artwork, shape
from tests.passes.strategies import angles, areas, drawn

BY = 0.05
VASE = box(0, 0, 4, 4) | box(4, 1.97, 8, 2.03) | box(8, 0, 12, 4)


def run(step, *shapes, bench=None):
    return check_pass(step, artwork(shapes), bench, twice=False)


def moved(geometry, by):
    return offset_safely(MultiPolygon(list(shapely.get_parts(geometry))), by)


def kinds(geometry, by):
    return [one.kind for one in moved(geometry, by)[1]]


@pytest.mark.parametrize("by", [0.03, 0.05, 0.2, -0.03, -0.2])
def test_a_ring_gets_thinner_or_thicker_on_both_sides(by):
    ring = Point(9, 9).buffer(5, quad_segs=300) - Point(9, 9).buffer(3, quad_segs=300)
    area, kept = moved(ring, by)
    assert area.area == pytest.approx(math.pi * ((5 - by) ** 2 - (3 + by) ** 2), abs=0.05)
    assert not kept


@pytest.mark.parametrize("by", [0.05, -0.05])
def test_corners_stay_sharp_inward_and_outward(by):
    """A right triangle of 6, 8 and 10 has an inscribed circle of radius 2."""
    area, _ = moved(Polygon([(0, 0), (6, 0), (0, 8)]), by)
    assert area.area == pytest.approx(24 * ((2 - by) / 2) ** 2)
    assert shapely.get_num_coordinates(area) == 4


def test_spot_and_bleed_make_the_distance():
    square = shape("seed", box(0, 0, 4, 4))
    machine, filament = Machine(spot=0.06), Filament(name="moss PETG", bleed=0.02)
    both = run(CompensateSpot(), square, bench=Bench(machine=machine, filament=filament))
    assert both.artwork.shapes[0].geometry.area == pytest.approx(3.9**2)
    alone = run(CompensateSpot(), square, bench=Bench(machine=machine))
    assert alone.artwork.shapes[0].geometry.area == pytest.approx(3.94**2)
    assert "bleed-unknown" in {f.code for f in alone.findings}
    assert "bleed-unknown" not in {f.code for f in both.findings}
    with pytest.raises(Refusal, match="the machine's spot size is missing"):
        run(CompensateSpot(), square)


@pytest.mark.parametrize(
    ("area", "by", "kind", "spot"),
    [
        (VASE, BY, KeptKind.BRIDGE, box(4, 1.97, 8, 2.03)),
        (box(0, 0, 10, 0.06), BY, KeptKind.PART, box(0, 0, 10, 0.06)),
        (box(0, 0, 9, 9) - box(0.06, 2, 7, 7), BY, KeptKind.BRIDGE, box(0, 2, 0.06, 7)),
        (
            box(0, 0, 9, 9) - box(2, 2, 4, 7) - box(4.06, 2, 7, 7),
            BY,
            KeptKind.BRIDGE,
            box(4, 2, 4.06, 7),
        ),
        (box(0, 0, 4, 4) | box(4, 2, 9, 2.06), BY, KeptKind.END, box(4, 2, 9, 2.06)),
        (Polygon([(0, 0), (20, 0.5), (0, 1)]), BY, KeptKind.END, box(18.1, 0, 20, 1)),
        (box(0, 0, 4, 4) - box(1, 1, 1.06, 3), -BY, KeptKind.COUNTER, box(1, 1, 1.06, 3)),
        (box(0, 0, 4, 4) | box(4.06, 0, 8, 4), -BY, KeptKind.GAP, box(4, 0, 4.06, 4)),
        (box(0, 0, 4, 4) - box(2, -1, 2.06, 3), -BY, KeptKind.NOTCH, box(2, 0, 2.06, 3)),
    ],
)
def test_what_would_break_or_close_stays_and_is_placed(area, by, kind, spot):
    after, kept = moved(area, by)
    assert [one.kind for one in kept] == [kind]
    assert spot.buffer(1e-9).contains(Point(kept[0].at))
    parts, others = list(after.geoms), list(shapely.get_parts(area))
    assert len(parts) == len(others)
    assert [len(p.interiors) for p in parts] == [len(p.interiors) for p in others]
    if by > 0:
        assert after.difference(area).area < 1e-9
        assert after.intersection(spot).area == pytest.approx(
            area.intersection(spot).area, abs=1e-6
        )
    else:
        assert area.difference(after).area < 1e-9
        inside = spot & area.envelope.buffer(-0.2)
        assert after.intersection(inside).area < 1e-6


def test_notches_that_face_one_another_leave_what_is_wide_enough():
    """Mitres at their tips would meet; a waist of 0.12 is wider than 2 · 0.05, so it stays open."""
    waist = Point(5, 5).buffer(4, quad_segs=64)
    waist -= Polygon([(4.8, 0), (5.2, 0), (5, 4.94)]) | Polygon([(4.8, 10), (5.2, 10), (5, 5.06)])
    area, kept = moved(waist, BY)
    assert (len(area.geoms), kept) == (1, ())
    across = area.intersection(shapely.LineString([(5, 4.5), (5, 5.5)]))
    assert across.length == pytest.approx(0.12 - 2 * BY, abs=0.002)
    assert area.covers(shapely.LineString([(4.5, 5), (5.5, 5)]))


def test_holes_that_touch_in_a_point_stay_two():
    """Nothing is thin there for any length, and yet the holes would run into one another."""
    holes = [Polygon([(3, 5), (4, 4), (5, 5), (4, 6)]), Polygon([(5, 5), (6, 4), (7, 5), (6, 6)])]
    panel = Polygon(box(0, 0, 10, 10).exterior, [hole.exterior.coords for hole in holes])
    area, (kept,) = moved(panel, BY)
    assert [len(p.interiors) for p in area.geoms] == [2]
    assert kept.kind is KeptKind.BRIDGE
    assert Point(kept.at).distance(Point(5, 5)) < 2 * BY
    # a hole of 2 mm² and side √2 grows to (√2 + 0.1)², but for what stays around the meeting point
    assert 100 - area.area - 4 * 9.9 * BY - 4 * BY**2 == pytest.approx(
        2 * (2**0.5 + 2 * BY) ** 2, abs=0.1
    )


def test_tips_retreat_by_the_move_over_the_sine_of_half_their_angle():
    """Half angle 14.04°: the tip goes back by 0.05 / sin a, which is less than ten moves."""
    triangle = Polygon([(0, 0), (8, 2), (0, 4)])
    area, kept = moved(triangle, BY)
    assert not kept
    assert area.bounds[2] == pytest.approx(8 - BY / math.sin(math.atan(2 / 8)))


def test_each_place_is_a_finding_with_its_shape():
    outcome = run(CompensateSpot(by=BY), shape("vase", VASE), shape("hair", box(0, 9, 9, 9.06)))
    told = [f for f in outcome.findings if f.code == "too-thin-for-spot"]
    assert [(f.elements, f.message.split(" of ")[0]) for f in told] == [
        (("vase",), "1 bridge"),
        (("hair",), "1 part"),
    ]


def test_touching_areas_of_a_layer_move_only_outside():
    one, two = shape("a", box(0, 0, 4, 4)), shape("b", box(4, 0, 9, 4))
    a, b = run(CompensateSpot(by=BY), one, two).artwork.shapes
    assert a.geometry.bounds == pytest.approx((0.05, 0.05, 4, 3.95))
    assert b.geometry.bounds == pytest.approx((4, 0.05, 8.95, 3.95))
    a, b = run(CompensateSpot(by=-BY), one, two).artwork.shapes
    assert a.geometry.area + b.geometry.area == pytest.approx(9.1 * 4.1)
    assert a.geometry.intersection(b.geometry).area < 1e-6
    other = run(CompensateSpot(by=BY), one, replace(two, layer="seeds")).artwork.shapes
    assert other[1].geometry.bounds == pytest.approx((4.05, 0.05, 8.95, 3.95))


def test_only_closed_lines_move_and_only_those_that_are_wanted():
    ring, dash = box(0, 0, 8, 6).exterior, [(20, 0), (25, 0)]
    line = replace(
        shape("tag", box(0, 0, 1, 1)),
        operation=Operation.SCORE,
        geometry=MultiLineString([ring, dash]),
    )
    after = run(CompensateSpot(by=BY), line).artwork.shapes[0]
    assert after.geometry.length == pytest.approx(2 * (7.9 + 5.9) + 5)
    still = run(CompensateSpot(by=BY, lines=Lines.NONE), line)
    assert still.artwork.shapes == (line,)
    assert [f.code for f in still.findings] == ["nothing-compensated"]
    assert run(CompensateSpot(by=BY), replace(line, operation=Operation.CUT)).changes == ()


def test_no_distance_moves_nothing():
    art = [shape("a", box(0, 0, 4, 4))]
    assert run(CompensateSpot(by=0.0), *art).artwork.shapes == tuple(art)


@settings(max_examples=20)
@given(areas(), angles, st.sampled_from([0.03, 0.1, -0.03, -0.1]))
def test_it_is_the_plain_offset_where_nothing_is_thin_and_moving_commutes(painted, angle, by):
    art = drawn(painted, angle)
    outcome = check_pass(CompensateSpot(by=by), art, twice=False)
    before, after = (
        shapely.union_all([s.geometry for s in a.shapes]) for a in (art, outcome.artwork)
    )
    grown = by < 0
    assert (before if grown else after).difference(after if grown else before).area < 1e-4
    kept = [f for f in outcome.findings if f.code.startswith("too-")]
    if not kept:
        plain = before.buffer(-by, join_style="mitre")
        assert after.symmetric_difference(plain).area < 0.004 * before.length
    step = np.array([3.5, -7.25])
    there = replace(
        art,
        shapes=tuple(
            replace(s, geometry=shapely.transform(s.geometry, lambda p: p + step))
            for s in art.shapes
        ),
    )
    other = check_pass(CompensateSpot(by=by), there, twice=False).artwork
    assert [s.geometry.area for s in other.shapes] == pytest.approx(
        [s.geometry.area for s in outcome.artwork.shapes], abs=1e-3
    )


def test_a_sliver_on_a_neighbours_edge_is_named_when_nothing_of_it_is_left():
    """The common edge moves from 4.01 to 3.95 mm and more, and the sliver begins at 3.99 mm."""
    seed, sliver = shape("seed", box(0, 0, 4, 4)), shape("sliver", box(3.99, 1, 4.01, 3))
    out = run(CompensateSpot(by=BY), seed, sliver)
    assert [one.id for one in out.artwork.shapes] == ["seed"]
    assert "of sliver nothing is left" in next(iter(out.findings)).message
