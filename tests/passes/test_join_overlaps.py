"""join-overlaps: what overlaps, what crosses, what nearly closes, and what must be left alone."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from shapely import MultiLineString, MultiPolygon, Point, box

from preprocess.engine.facts import MERGED, SEPARATE
from preprocess.geometry.overlay.arrangement import fill_contours
from preprocess.model.artwork.settings import Operation
from preprocess.model.artwork.source import Selection
from preprocess.model.bench.bench import Bench
from preprocess.passes.join_overlaps import JoinOverlaps
from preprocess.testing import check_pass
from tests.passes.strategies import angles, areas, artwork, drawn, shape, turned

CUT, SCORE, ENGRAVE = Operation.CUT, Operation.SCORE, Operation.ENGRAVE
CLOSE = JoinOverlaps(close=0.05)


def lines(name, *coords, operation=CUT, **more):
    plain = shape(name, box(0, 0, 1, 1), operation=operation, **more)
    return replace(plain, geometry=MultiLineString(list(coords)))


def even_odd(*outlines):
    rings = [
        np.round(shapely.get_coordinates(ring)[:-1], 6)
        for outline in outlines
        for ring in shapely.get_rings(shapely.get_parts(outline))
    ]
    return fill_contours(rings, "evenodd")


def joined(area, **params):
    (after,) = check_pass(JoinOverlaps(**params), artwork([shape("a", area)])).artwork.shapes
    return after.geometry


RING = Point(0, 0).buffer(3) - Point(0, 0).buffer(2)
BAR = box(-0.5, -5, 0.7, 5)


@pytest.mark.parametrize(
    "outlines",
    [
        (Point(0, 0).buffer(3), Point(4, 0).buffer(3)),
        (RING, BAR),
        (RING, RING.buffer(0, join_style="mitre"), BAR)[1:],
        (RING, shapely.affinity.translate(RING, 3.7, 0.3)),
        (RING, shapely.affinity.translate(BAR, 2.0)),
        (box(0, 0, 8, 1), box(1, -1, 2, 5), box(3, -1, 4, 5), box(0, 2.2, 8, 3.1)),
        (RING, box(-0.4, -5, 0.4, -1.2), box(5, 5, 6, 6)),
    ],
    ids=["discs", "letter", "mitre", "rings", "through the rim", "lattice", "apart"],
)
@pytest.mark.parametrize("angle", [0.0, 31.0])
def test_strokes_that_cross_paint_their_union(outlines, angle):
    """As a painter would have it: each stroke by itself, one over the other, counters left open."""
    strokes = [shapely.affinity.rotate(o, angle, origin=(0, 0)) for o in outlines]
    want = shapely.union_all(strokes)
    assert joined(even_odd(*strokes)).symmetric_difference(want).area < 1e-4


def ribbon(points, half=0.4):
    """The outline of a stroke that crosses itself, as one contour."""
    along = np.gradient(points, axis=0)
    side = half * np.column_stack((-along[:, 1], along[:, 0])) / np.hypot(*along.T)[:, None]
    return np.round(np.vstack((points + side, (points - side)[::-1])), 6)


def test_a_loop_of_script_keeps_its_counter():
    t = np.linspace(-1.8, 1.8, 200)
    loop = np.column_stack((4 * (t**3 - 2 * t), 4 * t**2))
    outline = ribbon(loop)
    blank, want = fill_contours([outline], "evenodd"), fill_contours([outline], "nonzero")
    assert want.area - blank.area > 0.5
    after = joined(blank)
    assert after.symmetric_difference(want).area < 1e-9
    assert sum(len(part.interiors) for part in after.geoms) == 1


@pytest.mark.parametrize(
    "area",
    [
        even_odd(RING),
        even_odd(box(0, 0, 1, 1), box(1, 1, 2, 2)),
        even_odd(box(0, 0, 9, 9), box(2, 2, 4, 4), box(4, 4, 6, 6)),
        MultiPolygon([RING, Point(0, 0).buffer(1)]),
    ],
    ids=["ring", "corner to corner", "holes corner to corner", "island"],
)
def test_what_only_touches_or_is_a_hole_stays(area):
    outcome = check_pass(JoinOverlaps(), artwork([shape("a", area)]))
    assert outcome.findings == outcome.changes == ()


def test_what_was_filled_is_told_and_can_be_left_out():
    area = even_odd(box(0, 0, 8, 2), box(3, -1, 5, 3))
    art = artwork(
        [shape("a", area), shape("b", shapely.affinity.translate(area, 20), label="Moth")]
    )
    outcome = check_pass(JoinOverlaps(except_=Selection(label="Moth")), art)
    (finding,) = outcome.findings
    assert (finding.code, finding.elements) == ("crossings-filled", ("a",))
    assert finding.message.startswith("filled 4 mm² of a left blank")
    assert outcome.artwork.shapes[1] is art.shapes[1]
    assert outcome.changes[0].added.area - outcome.changes[0].removed.area == pytest.approx(4)


@settings(deadline=None)
@given(areas(), angles)
def test_what_is_painted_stays_and_nothing_overlaps(painted, angle):
    before = drawn(painted, angle)
    after = check_pass(JoinOverlaps(), before).artwork
    paint = [shapely.union_all([s.geometry for s in art.shapes]) for art in (before, after)]
    assert paint[0].symmetric_difference(paint[1]).area < 1e-3
    twice = sum(s.geometry.area for s in after.shapes) - paint[1].area
    assert abs(twice) < 1e-3
    assert {source.id for s in after.shapes for source in s.sources} == {
        s.id for s in before.shapes
    }


@settings(deadline=None, max_examples=30)
@given(areas(), angles)
def test_turning_and_joining_commute(painted, angle):
    one = check_pass(JoinOverlaps(), drawn(painted, 0.0)).artwork.shapes
    two = check_pass(JoinOverlaps(), drawn(painted, angle)).artwork.shapes
    assert [s.id for s in one] == [s.id for s in two]
    back = lambda g: shapely.transform(g, lambda p: p - (12.0, 12.0))
    for a, b in zip(one, two, strict=True):
        assert turned(back(a.geometry), angle).symmetric_difference(b.geometry).area < 1e-3


def test_layers_and_levels_stay_apart():
    same = box(0, 0, 4, 4)
    shapes = [
        replace(shape("a", same), level=1),
        replace(shape("b", same), level=2),
        shape("c", same, layer="name"),
        shape("d", same, operation=CUT),
    ]
    assert check_pass(JoinOverlaps(), artwork(shapes)).artwork.shapes == tuple(shapes)


def test_facts_stand():
    separate = artwork([shape("a", box(0, 0, 4, 4)), shape("b", box(3, 0, 8, 4))])
    after = check_pass(JoinOverlaps(), separate).artwork
    assert SEPARATE.holds(after, "leaflets")
    assert MERGED.holds(after, "leaflets")
    assert [s.id for s in after.shapes] == ["a"]


UPPER, LOWER = [(2, 5), (2, 2), (18, 2), (18, 5)], [(18, 5.02), (18, 8), (2, 8), (2, 5.03)]
SEED = [(6, 4), (10, 4), (10, 6), (6, 6), (6, 4.02)]


@pytest.mark.parametrize("backwards", [False, True])
def test_contours_in_pieces_become_areas(backwards):
    lower = LOWER[::-1] if backwards else LOWER
    shapes = [lines(n, c, operation=ENGRAVE) for n, c in (("u", UPPER), ("l", lower), ("s", SEED))]
    outcome = check_pass(CLOSE, artwork(shapes))
    (area,) = outcome.artwork.shapes
    assert area.id == "u"
    assert area.geometry.area == pytest.approx(16 * 6 - 4 * 2)
    assert {source.id for source in area.sources} == {"u", "l", "s"}
    (finding,) = outcome.findings
    assert "2 contours of leaflets closed over gaps of up to 0.03 mm and filled" in finding.message
    lost = sum(math.dist(a, b) for c in (UPPER, LOWER, SEED) for a, b in pairwise(c))
    assert outcome.changes[0].removed.length == pytest.approx(lost)


def test_wide_gaps_stay_open_and_are_told():
    before = artwork([lines("u", UPPER, operation=ENGRAVE), lines("l", LOWER, operation=ENGRAVE)])
    outcome = JoinOverlaps(close=0.025)(before, Bench())
    assert outcome.artwork == before
    (finding,) = outcome.findings
    assert (finding.code, finding.elements) == ("contours-left-open", ("u", "l"))


def test_without_close_lines_stay():
    before = artwork([lines("u", SEED, operation=ENGRAVE), lines("v", SEED, operation=CUT)])
    assert JoinOverlaps()(before, Bench()).artwork == before


def test_several_areas_of_one_element_are_numbered():
    two = lines("leaf", SEED, [(x + 20, y) for x, y in SEED], operation=ENGRAVE)
    after = check_pass(CLOSE, artwork([two])).artwork
    assert [s.id for s in after.shapes] == ["leaf-1", "leaf-2"]
    assert [s.geometry.area for s in after.shapes] == pytest.approx([8, 8])


def test_ends_are_joined_to_the_nearest_and_once():
    """Three ends meet: the two nearest are one line's own; the third runs on alone."""
    tail = [(6.04, 4.0), (2, 4)]
    after = check_pass(CLOSE, artwork([lines("s", SEED), lines("t", tail)])).artwork
    assert after.shapes[0].geometry.geoms[0].is_closed
    assert after.shapes[1].geometry.equals(MultiLineString([tail]))


def test_a_short_piece_is_part_of_something_longer():
    piece = [(18, 5), (18, 5.02)]
    shapes = [lines("u", UPPER), lines("p", piece), lines("l", LOWER)]
    (rim,) = check_pass(CLOSE, artwork(shapes)).artwork.shapes
    assert rim.geometry.length == pytest.approx(2 * 16 + 2 * 6)
    assert rim.geometry.geoms[0].is_closed


def test_rings_to_cut_lose_what_lies_inside_one_another():
    one, two = Point(10, 10).buffer(3, quad_segs=64), Point(14, 10).buffer(3, quad_segs=64)
    shapes = [lines(n, g.exterior.coords) for n, g in (("a", one), ("b", two))]
    hole = lines("c", Point(9, 10).buffer(0.5).exterior.coords)
    before = artwork([*shapes, hole, lines("d", [(0, 0), (30, 30)])])
    assert JoinOverlaps()(before, Bench()).artwork == before
    outcome = check_pass(JoinOverlaps(lines=True), before)
    assert [s.id for s in outcome.artwork.shapes] == ["a", "c", "d"]
    # circles of radius 3 whose middles are 4 apart: 2 acos(2/3) of each rim lies in the other
    want = 2 * 3 * (2 * math.pi - 2 * math.acos(2 / 3))
    assert outcome.artwork.shapes[0].geometry.length == pytest.approx(want, abs=0.02)
    assert outcome.artwork.shapes[1:] == before.shapes[2:]
    assert outcome.findings[0].code == "rings-joined"


def test_guides_and_open_lines_are_no_rings():
    guide = lines("g", SEED, operation=Operation.GUIDE)
    before = artwork([guide, lines("o", UPPER, operation=SCORE)])
    assert check_pass(JoinOverlaps(close=0.05, lines=True), before, Bench()).artwork == before


def united(*rings):
    before = artwork([lines(f"ring-{n}", ring, operation=SCORE) for n, ring in enumerate(rings)])
    return before, check_pass(JoinOverlaps(lines=True), before)


STEM = [(5, 5), (9, 5), (5, 5)]
LABEL = [(0, 0), (8, 0), (8, 4), (0, 4), (0, 0)]
SPURRED = [(0, 0), (8, 0), (11, 0), (8, 0), (8, 4), (0, 4), (0, 0)]


@pytest.mark.parametrize(
    "rings",
    [
        pytest.param([STEM], id="out and back"),
        pytest.param([[*STEM, (6, 5), (5, 5)]], id="out and back twice"),
        pytest.param([STEM, STEM], id="two alike"),
        pytest.param([STEM, LABEL], id="inside a label"),
        pytest.param([[(6, 2), (11, 2), (6, 2)], LABEL], id="across a label's rim"),
        pytest.param([SPURRED], id="a spur of a ring"),
        pytest.param([LABEL, LABEL], id="two labels alike"),
        pytest.param([LABEL, LABEL[::-1]], id="two labels alike, one reversed"),
        pytest.param([LABEL, [(8, 0), (12, 0), (12, 4), (8, 4), (8, 0)]], id="side by side"),
    ],
)
def test_rings_that_run_inside_nothing_stay_as_they_are(rings):
    before, outcome = united(*rings)
    assert outcome.artwork == before
    assert outcome.findings == ()


def test_the_spur_of_a_ring_that_crosses_another_stays():
    other = [(6, -2), (7, -2), (7, 6), (6, 6), (6, -2)]
    _, outcome = united(SPURRED, other)
    (after,) = outcome.artwork.shapes
    # by hand: rims 24 + 18, less 2 x 1 across the bar and 2 x 4 inside the label; spur 2 x 3
    assert after.geometry.length == pytest.approx(32 + 6, abs=1e-3)
    assert after.geometry.distance(Point(11, 0)) == 0
    assert "10.00 mm" in outcome.findings[0].message


def test_a_ring_that_runs_over_itself_outside_its_area_loses_only_what_lies_inside():
    ring = [(0, 0), (8, 0), (8, 4), (3, 4), (3, -2), (3, 4), (0, 4), (0, 0)]
    (after,) = united(ring)[1].artwork.shapes
    assert after.geometry.length == pytest.approx(24 + 2 * 2, abs=1e-3)
    assert after.geometry.covers(Point(0, 2))
    assert not after.geometry.intersects(Point(3, 2))
