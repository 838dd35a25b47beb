"""equalize-width, measured on files that were written and read back by other means."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiLineString, MultiPolygon, Point, Polygon, box
from shapely.affinity import rotate, translate

from preprocess.engine.facts import BARRED, FILLED, MERGED
from preprocess.engine.ledger import imbalances, totals
from preprocess.errors import Refusal
from preprocess.marking.job.plan import plan_of
from preprocess.marking.job.rows import row_spans
from preprocess.model.artwork.settings import Operation
from preprocess.model.artwork.source import Selection
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.machine import FirstRow, Machine, RasterGroups
from preprocess.model.bench.part import Part
from preprocess.passes.equalize_width.equalize_width import EqualizeWidth
from tests.passes.benches import artwork, leaf, row_pieces, shape, turned, written

LABEL = box(10, 6, 50, 34)
ART = MultiPolygon(
    [leaf(22, 16, 16, 5, 0.3), leaf(33.3333, 25.1234, 9, 3, -0.7), Point(44, 12).buffer(1.5)]
)
ROOMY = Bench(machine=Machine(field=(110.0, 110.0)))


def seen_width(part, angle):
    """By hand: a rectangle w × h turned by a is w |cos a| + h |sin a| wide."""
    left, top, right, bottom = part.bounds
    a = math.radians(angle)
    return (right - left) * abs(math.cos(a)) + (bottom - top) * abs(math.sin(a))


@pytest.mark.parametrize("angle", [0.0, 17.0, 45.0, 90.0, 123.0, -30.0])
def test_all_rows_of_the_written_file_are_equally_wide(angle):
    out = EqualizeWidth()(artwork([shape("a", ART)], [LABEL], angle=angle), ROOMY).artwork
    (area,) = written(out)["fronds"]
    wanted = seen_width(LABEL, angle) + 2 * (2.0 + 0.6)
    first, last = turned(area, angle).bounds[1], turned(area, angle).bounds[3]
    rows = np.arange(first, last - 0.05, 0.1) + 4e-4
    lit = [pieces for v in rows if len(pieces := row_pieces(area, angle, v))]
    assert len(lit) > 100
    spans = np.array([pieces[-1][1] - pieces[0][0] for pieces in lit])
    assert np.abs(spans - wanted).max() < 1e-3
    middle = np.array([pieces[-1][1] + pieces[0][0] for pieces in lit]) / 2
    centre = Point(LABEL.centroid.x - out.page.left, LABEL.centroid.y - out.page.top)
    assert np.abs(middle - turned(centre, angle).x).max() < 1e-3


@pytest.mark.parametrize("angle", [0.0, 17.0, 45.0, 90.0])
@pytest.mark.parametrize("rule", list(FirstRow))
def test_the_plan_of_the_written_file_has_one_span(angle, rule):
    machine = Machine(field=(110.0, 110.0), first_row=rule)
    out = EqualizeWidth()(artwork([shape("a", ART)], [LABEL], angle=angle), Bench(machine=machine))
    (area,) = written(out.artwork)["fronds"]
    page = out.artwork.page
    again = artwork([shape("a", area)], angle=angle, page=(page.width, page.height))
    (group,) = plan_of(again, machine).steps
    spans = row_spans(group)
    assert np.abs(spans.span - seen_width(LABEL, angle) - 5.2).max() < 1e-3
    (before,) = plan_of(out.artwork, machine).steps
    assert len(spans) == len(row_spans(before))


@pytest.mark.parametrize("angle", [0.0, 17.0, 45.0, 90.0])
def test_bars_keep_their_clearance_on_the_written_file(angle):
    parts = [Point(20, 20).buffer(9), rotate(box(33, 10, 47, 30), 20)]
    before = artwork([shape("a", ART)], parts, angle=angle)
    out = EqualizeWidth(clearance=1.3)(before, ROOMY).artwork
    (area,) = written(out)["fronds"]
    silhouettes = [translate(p, -out.page.left, -out.page.top) for p in parts]
    bars = [p for p in area.geoms if not any(p.intersects(s) for s in silhouettes)]
    assert len(bars) >= 2
    least = min(bar.distance(s) for bar in bars for s in silhouettes)
    assert least >= 1.3
    assert least < 1.3 + 5e-4


@pytest.mark.parametrize("angle", [0.0, 17.0, 45.0, 90.0])
def test_the_art_is_lit_as_before(angle):
    before = artwork([shape("a", ART)], [LABEL], angle=angle)
    out = EqualizeWidth()(before, ROOMY).artwork
    assert out.shapes[0].geometry.equals(ART)
    (old,), (new,) = plan_of(before, Machine()).steps, plan_of(out, Machine()).steps
    assert (old.first, old.count) == pytest.approx((new.first, new.count), abs=1e-9)
    for v in old.rows[1:-1:7] + 1e-6:
        now, then = row_pieces(new.area, angle, v)[1:-1], row_pieces(old.area, angle, v)
        assert now == pytest.approx(then)


def test_one_rectangle_on_each_side_per_stretch_of_lit_rows():
    dots = MultiPolygon([box(20, 10, 24, 12), box(30, 20, 33, 21)])
    out = EqualizeWidth()(artwork([shape("a", dots)], [LABEL]), ROOMY)
    bars = shapely.get_parts(out.artwork.shapes[0].bars)
    assert len(bars) == 4
    assert sorted({round(b.bounds[1], 6) for b in bars}) == [10.0, 19.975]
    assert {round(b.bounds[2] - b.bounds[0], 9) for b in bars} == {0.6}
    # 2 mm hold 20 rows, 1 mm holds 10: from first to last row, and a quarter pitch beyond
    assert out.changes[0].added.area == pytest.approx(2 * 0.6 * (1.925 + 0.95))


def test_ledger_facts_and_findings():
    before = artwork([shape("a", ART)], [LABEL])
    out = EqualizeWidth()(before, ROOMY)
    assert not imbalances(totals(before), out.changes, totals(out.artwork))
    assert BARRED.holds(out.artwork, "fronds")
    backing = next(f for f in out.findings if f.code == "backing-needed")
    assert f"{out.artwork.shapes[0].bars.area:.2f} mm²" in backing.message
    assert "matt sacrificial card" in backing.remedy
    assert "no bare reflective metal" in backing.remedy


def test_layers_that_share_rows_stand_side_by_side():
    shapes = [shape("a", box(20, 10, 30, 16)), shape("b", box(30, 12, 40, 20), "dots")]
    shapes.append(shape("c", box(20, 25, 22, 27), "spots"))
    out = EqualizeWidth(gap=0.3)(artwork(shapes, [LABEL]), ROOMY).artwork
    spans = [row_spans(step).span for step in plan_of(out, Machine()).steps]
    wanted = (45.2, 45.2 + 2 * 0.9, 45.2)
    for span, width in zip(spans, wanted, strict=True):
        assert np.abs(span - width).max() < 1e-3
    bars = [s.bars for s in out.shapes]
    assert bars[0].distance(bars[1]) == pytest.approx(0.3)
    assert sum(b.area for b in bars) == pytest.approx(shapely.union_all(bars).area)


def test_zones_that_follow_one_another_share_a_lane():
    shapes = [
        shape("a", box(20, 10, 30, 16), level=1),
        shape("b", box(22, 16, 28, 18), level=2),
        shape("c", box(24, 18, 26, 20), level=1),
    ]
    merged = [
        shape("a", MultiPolygon([box(20, 10, 30, 16), box(24, 18, 26, 20)]), level=1),
        shapes[1],
    ]
    out = EqualizeWidth()(artwork(merged, [LABEL], shares=(1.0, 0.9)), ROOMY).artwork
    steps = plan_of(out, Machine()).steps
    rows = np.sort(np.concatenate([row_spans(step).v for step in steps]))
    assert np.diff(rows) == pytest.approx(0.1)
    assert len(rows) == 100
    assert all(row_spans(s).span == pytest.approx(45.2, abs=1e-3) for s in steps)


def test_levels_start_on_one_grid_of_rows():
    """A level that begins between two rows of the other gets bars up to the row before."""
    levels = [shape("a", box(20, 10, 24, 20), level=1), shape("b", box(26, 13.07, 30, 18), level=2)]
    out = EqualizeWidth()(artwork(levels, [LABEL], shares=(1.0, 0.9)), ROOMY)
    one, other = (step.rows for step in plan_of(out.artwork, Machine()).steps)
    steps = (other[0] - one[0]) / 0.1
    assert steps == pytest.approx(30.0, abs=1e-6)
    assert not [f for f in out.findings if f.code == "rows-off-grid"]


def test_levels_that_cannot_share_a_grid_are_reported():
    levels = [shape("a", box(20, 10, 24, 20), level=1), shape("b", box(26, 13.07, 30, 18), level=2)]
    machine = Machine(first_row=FirstRow.HALF_PITCH)
    out = EqualizeWidth()(artwork(levels, [LABEL], shares=(1.0, 0.9)), Bench(machine=machine))
    (seam,) = (f for f in out.findings if f.code == "rows-off-grid")
    assert "0.030 mm" in seam.message


def test_the_page_grows_about_its_centre():
    before = artwork([shape("a", box(20, 10, 30, 16))], [box(1, 1, 59, 39)])
    out = EqualizeWidth()(before, ROOMY)
    page = out.artwork.page
    # the bars end 2.6 mm beside the part, 1.6 mm beyond the page, and a hair for rounding
    assert (page.left, page.width) == pytest.approx((-1.7, 63.4))
    assert (page.top, page.height) == (0.0, 40)
    assert page.centre == pytest.approx(before.page.centre)
    assert "1.7 mm on the left and right" in next(
        f.message for f in out.findings if f.code == "page-grown"
    )


def test_under_each_colour_the_first_shape_carries_the_bars():
    machine = Machine(raster_groups=RasterGroups.EACH_COLOUR)
    shapes = [shape("a", box(20, 10, 30, 16)), shape("b", box(32, 14, 38, 20))]
    out = EqualizeWidth()(artwork(shapes, [LABEL]), Bench(machine=machine)).artwork
    assert out.shapes[0].bars is not None
    assert out.shapes[1].bars is None
    (step,) = plan_of(out, machine).steps
    assert row_spans(step).span == pytest.approx(45.2, abs=1e-3)


def test_merged_is_needed_where_each_path_is_swept_by_itself():
    each = EqualizeWidth().contract_on(Bench())
    colour = EqualizeWidth().contract_on(
        Bench(machine=Machine(raster_groups=RasterGroups.EACH_COLOUR))
    )
    assert each.needs == {FILLED, MERGED}
    assert colour.needs == {FILLED}
    assert each.seals == {BARRED}


def test_a_narrow_neck_of_the_part_takes_a_smaller_span():
    tag = shapely.union_all([box(10, 6, 50, 20), box(26, 20, 34, 34)])
    before = artwork([shape("a", box(28, 24, 32, 30))], [tag])
    out = EqualizeWidth(span=16.0)(before, ROOMY).artwork
    (step,) = plan_of(out, Machine()).steps
    assert row_spans(step).span == pytest.approx(16.0)
    assert out.shapes[0].bars.distance(tag) == pytest.approx(8 - 0.6 - 4)


def test_a_span_that_would_strike_the_part_is_refused():
    before = artwork([shape("a", box(28, 24, 32, 30))], [LABEL])
    with pytest.raises(Refusal, match="clearance is 2 mm"):
        EqualizeWidth(span=16.0)(before, ROOMY)


def test_only_narrow_rows_get_bars_when_asked():
    kite = Polygon([(30, 8), (46, 20), (30, 32), (14, 20)])
    out = EqualizeWidth(narrower_than=16.0)(artwork([shape("a", kite)], [LABEL]), ROOMY).artwork
    (step,) = plan_of(out, Machine()).steps
    spans = row_spans(step).span
    assert ((np.abs(spans - 45.2003) < 1e-6) | (spans >= 16.0 - 1e-9)).all()
    assert 100 < (spans > 40).sum() < 140
    # rows wider than 16 of 32 mm lie in the middle half of the height
    assert out.shapes[0].bars.disjoint(box(0, 14.1, 60, 25.9))


def test_art_beyond_the_bars_is_refused():
    with pytest.raises(Refusal, match="lies in the place of its bars") as caught:
        EqualizeWidth()(artwork([shape("a", box(4, 10, 30, 16))], [LABEL]), ROOMY)
    # art reaches 26 mm from the middle at 30: 2 × (26 + 0.6 + 0.5)
    assert "span of at least 54.20 mm" in caught.value.remedy


def test_without_room_it_says_what_would_fit():
    before = artwork([shape("a", box(20, 10, 30, 16))], [LABEL])
    with pytest.raises(Refusal, match="no room") as caught:
        EqualizeWidth()(before, Bench(machine=Machine(field=(44.0, 60.0))))
    # 44 − 2 × 0.5 mm leave 43 for 40 + 2 × (clearance + 0.6): clearance 0.9
    assert "a clearance of up to 0.9 mm" in caught.value.remedy
    assert "90 deg" in caught.value.remedy
    assert "a field of 46.2" in caught.value.remedy
    EqualizeWidth(clearance=0.9)(before, Bench(machine=Machine(field=(44.0, 60.0))))
    with pytest.raises(Refusal):
        EqualizeWidth(clearance=1.0)(before, Bench(machine=Machine(field=(44.0, 60.0))))


@pytest.mark.parametrize("second", [{"clearance": 5.0}, {"only": Selection(label="Moths")}])
def test_bars_of_an_earlier_step_neither_go_nor_are_struck_twice(second):
    fern, moth = shape("fern", box(20, 10, 30, 16)), shape("moth", box(34, 13, 44, 18), "moths")
    labelled = replace(moth, sources=(replace(moth.sources[0], label="Moths"),))
    first = Selection(select="#fern") if "only" in second else None
    marked = replace(fern, sources=(replace(fern.sources[0], selectors=frozenset({"#fern"})),))
    before = artwork([marked, labelled], [LABEL])
    once = EqualizeWidth(only=first)(before, ROOMY).artwork
    with pytest.raises(Refusal, match="layer 'fronds' already has bars of an earlier step"):
        EqualizeWidth(**second)(once, ROOMY)


def test_keep_off_areas_are_not_struck():
    clip = box(5, 10, 8, 14)
    before = artwork([shape("a", box(20, 10, 30, 16))], [LABEL], keep_off=[clip])
    with pytest.raises(Refusal, match="keep-off area"):
        EqualizeWidth()(before, ROOMY)
    EqualizeWidth(clearance=6.0)(before, ROOMY)


@pytest.mark.parametrize(
    ("change", "words"), [("parts", "silhouette"), ("pitch", "pitch")], ids=["no part", "no pitch"]
)
def test_what_is_missing_is_named(change, words):
    before = artwork(
        [shape("a", box(20, 10, 30, 16))],
        [] if change == "parts" else [LABEL],
        pitch=None if change == "pitch" else 0.1,
    )
    with pytest.raises(Refusal, match=words) as caught:
        EqualizeWidth()(before, ROOMY)
    assert caught.value.remedy


def test_a_leaning_beam_asks_for_more_clearance_between_axis_and_part():
    """By hand: h 16, f 160, part 20 mm from the axis: 16 × 20 / 160 = 2 mm, and half a spot."""
    machine = Machine(
        field=(200.0, 200.0), field_origin=(-110.0, -80.0), spot=0.06, focal_length=160.0
    )
    bench = Bench(machine=machine, parts=(Part(outline=(40.0, 28.0), height=16.0),))
    out = EqualizeWidth()(artwork([shape("a", box(20, 10, 30, 16))], [box(10, 6, 50, 34)]), bench)
    least = out.artwork.shapes[0].bars.distance(LABEL)
    assert least == pytest.approx(2.0 + 16 * 20 / 160 + 0.03, abs=5e-4)
    assert [f for f in out.findings if f.code == "beam-leans"]


def test_on_the_far_side_the_light_moves_away():
    machine = Machine(field=(200.0, 200.0), spot=0.06, focal_length=160.0)
    bench = Bench(machine=machine, parts=(Part(outline=(40.0, 28.0), height=16.0),))
    out = EqualizeWidth()(artwork([shape("a", box(20, 10, 30, 16))], [LABEL]), bench)
    assert out.artwork.shapes[0].bars.distance(LABEL) == pytest.approx(2.0, abs=5e-4)
    # the bar's outer edge is 22.6 mm from the axis: 16 × 22.6 / 160 = 2.26 mm, and half a spot
    (lean,) = (f for f in out.findings if f.code == "beam-leans")
    assert "2.29 mm outside" in lean.message


def test_without_any_area_there_is_nothing_to_do():
    line = replace(
        shape("a", LABEL), operation=Operation.SCORE, geometry=MultiLineString([[(0, 0), (5, 5)]])
    )
    before = artwork([line])
    out = EqualizeWidth()(before, Bench())
    assert out.artwork == before
    assert [f.code for f in out.findings] == ["no-rows"]


LEAVES = st.lists(
    st.builds(
        leaf,
        st.floats(18, 42),
        st.floats(13, 27),
        st.floats(1, 9),
        st.floats(0.3, 3),
        st.floats(0, 3),
        st.just(6),
    ),
    min_size=1,
    max_size=4,
)


@settings(max_examples=40, deadline=None)
@given(
    LEAVES,
    st.floats(-180, 180),
    st.sampled_from([0.05, 0.1, 25.4 / 300]),
    st.sampled_from(list(FirstRow)),
)
def test_bars_never_touch_the_part_and_rows_agree(leaves, angle, pitch, rule):
    machine = Machine(field=(150.0, 150.0), first_row=rule)
    art = shapely.union_all(leaves)
    before = artwork([shape("a", art)], [LABEL], angle=angle, pitch=pitch)
    out = EqualizeWidth()(before, Bench(machine=machine)).artwork
    (area,) = written(out)["fronds"]
    page = out.page
    (group,) = plan_of(
        artwork([shape("a", area)], angle=angle, pitch=pitch, page=(page.width, page.height)),
        machine,
    ).steps
    spans = row_spans(group).span
    assert np.abs(spans - seen_width(LABEL, angle) - 5.2).max() < 1e-3
    assert out.shapes[0].bars.distance(LABEL) >= 2.0


@settings(max_examples=25, deadline=None)
@given(LEAVES, st.floats(-90, 90), st.floats(-20, 20), st.floats(-20, 20))
def test_turning_everything_turns_the_bars(leaves, angle, dx, dy):
    art = shapely.union_all(leaves)
    straight = EqualizeWidth()(artwork([shape("a", art)], [LABEL]), Bench()).artwork
    move = lambda g: translate(rotate(g, -angle, origin=(0, 0)), dx, dy)
    other = EqualizeWidth()(
        artwork([shape("a", move(art))], [move(LABEL)], angle=angle, page=(300, 300)), Bench()
    ).artwork
    there = move(straight.shapes[0].bars)
    assert there.symmetric_difference(other.shapes[0].bars).area < 0.6 * 0.4 * len(leaves)
    assert np.abs(np.array(there.bounds) - other.shapes[0].bars.bounds).max() < 0.11
