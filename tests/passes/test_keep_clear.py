"""keep-clear against closed forms, and what holds for any artwork."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, MultiLineString, MultiPolygon, Point, Polygon, box

from preprocess.errors import Refusal
from preprocess.geometry.offset.outlines import area_within, lines_outside
from preprocess.model.artwork.settings import Operation
from preprocess.model.artwork.source import Selection
from preprocess.model.bench.bench import Bench
from preprocess.passes.keep_clear import KeepClear
from preprocess.passes.strokes_to_areas import StrokesToAreas
from preprocess.testing import check_pass, read_artwork
from tests.passes.benches import artwork, shape
from tests.passes.strategies import areas, drawn

RIB = Selection(select=".rib")


def label(name):
    return Selection(label=name)


def rib(area):
    plain = shape("rib", area)
    return replace(plain, sources=(replace(plain.sources[0], label="ribs"),))


def codes(outcome):
    return [finding.code for finding in outcome.findings]


def test_a_disc_of_the_margin_goes_round_each_corner():
    """A rib of 4 × 2 and a margin m takes 4 · 2 + 2 m (4 + 2) + π m²."""
    m = 0.7
    art = artwork([shape("panel", box(0, 0, 30, 20)), rib(box(10, 8, 14, 10))])
    outcome = check_pass(KeepClear(areas=label("ribs"), margin=m), art)
    panel, guide = outcome.artwork.shapes
    taken = 8 + 12 * m + math.pi * m * m
    # arcs are drawn to 1 µm of their radius
    assert 600 - panel.geometry.area == pytest.approx(taken, abs=0.001 * 2 * math.pi * m)
    assert guide.operation is Operation.GUIDE
    assert guide.geometry.area == 8


def test_what_falls_apart_stays_one_path_and_separate_is_not_promised():
    art = artwork([shape("panel", box(0, 0, 30, 4)), rib(box(14, -1, 16, 5))])
    (panel, _) = check_pass(KeepClear(areas=label("ribs")), art).artwork.shapes
    assert [p.bounds for p in panel.geometry.geoms] == [(0, 0, 14, 4), (16, 0, 30, 4)]


def test_holes_of_the_part_and_keep_off_areas_need_no_word():
    part = box(0, 0, 40, 30) - box(2, 2, 6, 6)
    art = artwork([shape("panel", box(4, 4, 12, 10))], [part], keep_off=[box(10, 8, 20, 20)])
    outcome = check_pass(KeepClear(), art)
    assert outcome.artwork.shapes[0].geometry.area == pytest.approx(48 - 4 - 4)
    (told,) = [f for f in outcome.findings if f.code == "cut-clear"]
    assert told.message.startswith("cut 8.00 mm² of panel")
    assert box(4, 4, 6, 6).union(box(10, 8, 12, 10)).intersects(Point(told.spot))


def test_a_shape_that_vanishes_is_named_where_it_lay():
    art = artwork(
        [shape("seed", box(1, 1, 2, 2)), shape("panel", box(5, 5, 9, 9)), rib(box(0, 0, 3, 3))]
    )
    outcome = check_pass(KeepClear(areas=label("ribs")), art)
    (gone,) = [f for f in outcome.findings if f.code == "cleared-away"]
    assert gone.elements == ("seed",)
    assert box(1, 1, 2, 2).contains(Point(gone.spot))
    assert [s.id for s in outcome.artwork.shapes] == ["panel", "rib"]


def test_nobody_named_what_to_keep_clear():
    art = artwork([shape("panel", box(0, 0, 4, 4))])
    with pytest.raises(Refusal, match="there is no area to keep clear"):
        KeepClear()(art, Bench())
    with pytest.raises(Refusal, match=r"areas: .* matches no shape"):
        KeepClear(areas=RIB)(art, Bench())
    line = replace(
        rib(box(0, 0, 1, 1)),
        geometry=MultiLineString([[(0, 0), (4, 4)]]),
        operation=Operation.SCORE,
    )
    with pytest.raises(Refusal, match="enclose nothing"):
        KeepClear(areas=label("ribs"))(artwork([line]), Bench())


def test_only_the_chosen_shapes_are_cut():
    art = artwork(
        [shape("one", box(0, 0, 4, 4)), shape("two", box(0, 6, 4, 9)), rib(box(3, 0, 5, 9))]
    )
    step = KeepClear(areas=label("ribs"), except_=Selection(select="#one"))
    sources = [replace(s.sources[0], selectors=frozenset({f"#{s.id}"})) for s in art.shapes]
    art = replace(
        art,
        shapes=tuple(replace(s, sources=(o,)) for s, o in zip(art.shapes, sources, strict=True)),
    )
    one, two, _ = check_pass(step, art).artwork.shapes
    assert (one.geometry.area, two.geometry.area) == (16, 9)


def test_rings_inside_rings_are_holes_of_what_is_kept_clear():
    rings = [box(0, 0, 10, 10).exterior, box(2, 2, 8, 8).exterior, LineString([(0, 0), (20, 20)])]
    assert area_within(MultiLineString(rings)).area == 100 - 36


def test_a_ring_is_opened_where_it_is_cut_and_nowhere_else():
    ring = LineString([(0, 0), (10, 0), (10, 10), (0, 10), (0, 0)])
    (line,) = lines_outside(MultiLineString([ring]), MultiPolygon([box(4, 9, 6, 11)])).geoms
    assert line.coords[0] == (4, 10)
    assert line.coords[-1] == (6, 10)
    assert line.length == 38


def test_pieces_of_a_line_keep_their_order_and_direction():
    line = LineString([(20, 0), (0, 0)])
    off = MultiPolygon([box(3, -1, 4, 1), box(12, -1, 15, 1)])
    found = lines_outside(MultiLineString([line]), off)
    assert [list(x.coords) for x in found.geoms] == [
        [(20, 0), (15, 0)],
        [(12, 0), (4, 0)],
        [(3, 0), (0, 0)],
    ]


def test_a_line_along_the_edge_of_its_neighbour_is_not_touched_when_it_lies_outside():
    line = MultiLineString([[(0, 2.000001), (20, 2.000001)]])
    assert lines_outside(line, MultiPolygon([box(3, 0, 5, 2)])).equals_exact(line, 0)


def test_paint_of_a_stroke_that_becomes_an_area_later_keeps_clear_too():
    art, bench = read_artwork(
        '<svg xmlns="http://www.w3.org/2000/svg" width="30mm" height="20mm" viewBox="0 0 30 20">'
        '<path id="stem" d="M2 10 H28" stroke="#205020" stroke-width="2"/>'
        '<rect id="rib" x="10" y="10.5" width="4" height="6"/></svg>',
        "recipe: 1\npasses:\n  - keep-clear: {areas: {select: '#rib'}}",
    )
    step = KeepClear(areas=Selection(select="#rib"))
    outcome = check_pass(step, art, bench)
    areas_ = StrokesToAreas()(outcome.artwork, bench).artwork.shapes
    assert areas_[0].geometry.area == pytest.approx(26 * 2 - 4 * 0.5)


@settings(max_examples=25)
@given(
    areas(), areas(), st.sampled_from([0.0, 0.05, 0.4, 1.3]), st.floats(-30, 30), st.floats(-30, 30)
)
def test_nothing_grows_nothing_lies_on_it_and_moving_commutes(painted, raised, margin, dx, dy):
    before = drawn(painted)
    off = shapely.union_all(drawn(raised).shapes[0].geometry)

    def at(x, y):
        def move(g):
            return shapely.transform(g, lambda p: np.round(p + np.array([x, y]), 6))

        shapes = tuple(replace(s, geometry=move(s.geometry)) for s in before.shapes)
        kept = MultiPolygon(list(shapely.get_parts(move(off))))
        return replace(before, shapes=shapes, keep_off=(kept,))

    here, there = at(0, 0), at(round(dx, 3), round(dy, 3))
    after = check_pass(KeepClear(margin=margin), here).artwork
    moved = check_pass(KeepClear(margin=margin), there).artwork
    assert [s.id for s in after.shapes] == [s.id for s in moved.shapes]
    for one, two in zip(after.shapes, moved.shapes, strict=True):
        assert one.geometry.area == pytest.approx(two.geometry.area, abs=1e-4)
    for one in after.shapes:
        (old,) = [s for s in here.shapes if s.id == one.id]
        assert one.geometry.difference(old.geometry).area < 1e-6
        assert one.geometry.intersection(off).area < 4e-6 * (1 + one.geometry.length)
        kept = old.geometry.difference(off.buffer(margin, quad_segs=64))
        assert one.geometry.area == pytest.approx(kept.area, abs=0.01 * (1 + margin) * len(painted))


def test_a_star_shaped_screw_keeps_its_margin_at_every_vertex():
    star = Polygon(
        [
            (10 + r * math.cos(a), 10 + r * math.sin(a))
            for a, r in ((i * math.pi / 5, 3 if i % 2 else 1.5) for i in range(10))
        ]
    )
    art = artwork([shape("panel", box(0, 0, 20, 20)), rib(star)])
    panel, _ = check_pass(KeepClear(areas=label("ribs"), margin=0.4), art).artwork.shapes
    assert panel.geometry.distance(star) == pytest.approx(0.4, abs=0.001)


@pytest.mark.parametrize("margin", [0.0, 1e-300, 1e-151, 1e-12])
def test_a_margin_of_next_to_nothing_loses_no_area(margin):
    """A buffer by 1e-151 is empty in GEOS."""
    art = artwork([shape("panel", box(0, 0, 4, 4)), rib(box(1, 1, 2, 2))])
    (panel, _) = check_pass(KeepClear(areas=label("ribs"), margin=margin), art).artwork.shapes
    assert panel.geometry.area == pytest.approx(15)
