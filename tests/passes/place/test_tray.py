"""Copies on a tray: where they lie, that each is a body of its own, and bars beside all of them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely import MultiPolygon, Point, box
from shapely.affinity import translate

from preprocess.engine.facts import FILLED, MERGED, SEPARATE
from preprocess.engine.ledger import imbalances, totals
from preprocess.errors import Refusal
from preprocess.marking.heat.index import heat_index
from preprocess.marking.heat.medians import layer_medians
from preprocess.marking.job.plan import plan_of
from preprocess.marking.job.rows import row_spans
from preprocess.marking.job.schedule import schedule_of
from preprocess.model.artwork.source import Selection
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.machine import Machine
from preprocess.model.bench.part import Part
from preprocess.passes.equalize_width.equalize_width import EqualizeWidth
from preprocess.passes.merge import Merge
from preprocess.passes.place.place import PlaceDrawing
from preprocess.passes.split import Split, SplitBy
from preprocess.pipeline import convert
from preprocess.recipe.load import load_recipe
from tests.passes.benches import artwork, row_pieces, shape, written
from tests.passes.solving import UNKNOWN, art

LABEL = box(10, 6, 26, 16)
LEAF = shapely.union_all([box(12, 8, 20, 10), box(15, 10, 17, 13)])
TRAY = PlaceDrawing(copies=(3, 4), spacing=(20.0, 14.0))


def label(**more):
    return artwork([shape("leaf", LEAF), shape("dot", box(22, 8, 24, 10))], [LABEL], **more)


def test_copies_lie_row_by_row_about_the_drawing():
    out = TRAY(label(), Bench()).artwork
    wanted = [(20.0 * (i - 1), 14.0 * (j - 1.5)) for j in range(4) for i in range(3)]
    assert len(out.shapes) == 24
    assert len(out.parts) == 12
    for number, (x, y) in enumerate(wanted):
        leaf, dot = out.shapes[2 * number : 2 * number + 2]
        assert leaf.geometry.equals(translate(MultiPolygon([LEAF]), x, y))
        assert dot.geometry.bounds == (22 + x, 8 + y, 24 + x, 10 + y)
        assert out.parts[number].bounds == (10 + x, 6 + y, 26 + x, 16 + y)


def test_the_page_grows_about_its_centre():
    before = label()
    page = TRAY(before, Bench()).artwork.page
    assert (page.width, page.height) == (60 + 2 * 20, 40 + 3 * 14)
    assert page.centre == pytest.approx(before.page.centre)


def test_ids_stay_unique_and_sources_tell_the_copies_apart():
    made = artwork([shape("leaf", LEAF), shape("leaf-copy-2", box(22, 8, 24, 10))], [LABEL])
    out = TRAY(made, Bench()).artwork
    ids = [s.id for s in out.shapes]
    assert len(set(ids)) == 24
    assert ids[:2] == ["leaf", "leaf-copy-2"]
    assert len({source.id for s in out.shapes for source in s.sources}) == 24


def test_merging_and_splitting_by_source_gives_every_copy_back():
    once = TRAY(label(), Bench()).artwork
    merged = Merge()(once, Bench()).artwork
    assert len(merged.shapes) == 1
    again = Split(by=SplitBy.SOURCE)(merged, Bench()).artwork
    assert len(again.shapes) == 24


def test_facts_and_ledger():
    before = artwork([shape("leaf", LEAF)], [LABEL])
    out = TRAY(before, Bench())
    assert MERGED not in TRAY.contract_on(Bench()).keeps
    assert MERGED in PlaceDrawing(copies=(1, 1), spacing=(1.0, 1.0)).contract_on(Bench()).keeps
    assert {FILLED, SEPARATE} <= TRAY.contract_on(Bench()).keeps
    assert not imbalances(totals(before), out.changes, totals(out.artwork))
    assert out.changes[0].added.area == pytest.approx(12 * LEAF.area)


def test_sized_and_turned_first_copied_then():
    out = PlaceDrawing(width=4.0, rotate=90.0, copies=(2, 1), spacing=(20.0, 14.0))(
        artwork([shape("leaf", box(12, 8, 20, 10))]), Bench()
    ).artwork
    # 8 × 2 mm about (16, 9), turned and made 4 mm wide: 4 × 16 mm; copies 10 mm left and right
    assert [s.geometry.bounds for s in out.shapes] == [
        pytest.approx((4, 1, 8, 17)),
        pytest.approx((24, 1, 28, 17)),
    ]


@pytest.mark.parametrize(
    ("params", "words"),
    [
        ({"copies": (2, 2)}, "spacing of the copies is missing"),
        ({"spacing": (20.0, 20.0)}, "no copies"),
        ({"copies": (2, 1), "spacing": (15.9, 20.0)}, r"overlap: each is 16.00 × 10.00 mm"),
        ({"copies": (1, 2), "spacing": (20.0, 9.9)}, "overlap"),
        (
            {"copies": (2, 1), "spacing": (20.0, 9.0), "only": Selection(select="#leaf")},
            "only some of it is chosen",
        ),
    ],
)
def test_what_cannot_be_is_refused(params, words):
    made = label()
    marked = replace(made.shapes[0].sources[0], selectors=frozenset({"#leaf"}))
    made = replace(made, shapes=(replace(made.shapes[0], sources=(marked,)), made.shapes[1]))
    with pytest.raises(Refusal, match=words) as caught:
        PlaceDrawing(**params)(made, Bench())
    assert caught.value.remedy


def test_copies_that_touch_are_no_overlap():
    assert PlaceDrawing(copies=(2, 2), spacing=(16.0, 10.0))(label(), Bench()).artwork.parts


def test_a_tray_larger_than_the_field_is_told():
    out = TRAY(label(), Bench(machine=Machine(field=(50.0, 60.0))))
    (told,) = (f for f in out.findings if f.code == "tray-off-the-field")
    # 16 + 2 × 20 and 10 + 3 × 14 mm
    assert "tray of 56.0 × 52.0 mm" in told.message


def test_without_a_part_copies_are_said_to_be_one_body():
    out = TRAY(artwork([shape("leaf", LEAF)]), Bench())
    assert "copies-on-one-body" in {f.code for f in out.findings}


# heat: no warmth goes from part to part; what is shared is the clock


def tray_of_beds(spacing):
    one = art(shape("bed", box(6, 6, 14, 10)), parts=[box(5, 5, 15, 11)])
    return one, PlaceDrawing(copies=(2, 1), spacing=(spacing, 20.0))(one, UNKNOWN).artwork


@pytest.mark.parametrize("spacing", [10.0, 10.5, 30.0])
def test_each_copy_gets_as_hot_as_one_alone_however_near_the_others_lie(spacing):
    one, two = tray_of_beds(spacing)
    (alone,) = heat_index(one, UNKNOWN).images
    for patch in heat_index(two, UNKNOWN).images:
        assert np.nanmax(patch.index) == pytest.approx(np.nanmax(alone.index), rel=2e-3)
        assert np.nanmedian(patch.index) == pytest.approx(np.nanmedian(alone.index), rel=2e-3)


def test_merged_copies_share_rows_and_give_one_another_time():
    """One way at 300 mm/s, back at 2500: a row of 8 mm takes 31.07 ms, of 38 mm 142.9 ms."""
    one, two = tray_of_beds(30.0)
    merged = Merge()(two, UNKNOWN).artwork
    takes = lambda row: row / 300 + row / 2500 + 1.2e-3
    (step,) = plan_of(merged, UNKNOWN.machine).steps
    (visit,) = schedule_of(plan_of(merged, UNKNOWN.machine), UNKNOWN.machine).visits
    assert row_spans(step).span == pytest.approx(38)
    assert np.diff(visit.begins + visit.timed.rows_at) == pytest.approx(takes(38))
    assert (
        layer_medians(heat_index(merged, UNKNOWN))["fronds"]
        < 0.99 * layer_medians(heat_index(one, UNKNOWN))["fronds"]
    )


def test_every_copy_is_as_thick_as_its_part():
    """A thin part and a solid one, twice: the thin ones, first and third, get hotter."""
    beds = [shape("one", box(6, 6, 14, 10)), shape("two", box(26, 6, 34, 10))]
    both = art(*beds, parts=[box(5, 5, 15, 11), box(25, 5, 35, 11)])
    two = PlaceDrawing(copies=(1, 2), spacing=(40.0, 10.0))(both, UNKNOWN).artwork
    thin = (Part(outline="#one", thickness=0.1), Part(outline="#two"))
    patches = heat_index(two, Bench(machine=UNKNOWN.machine, parts=thin)).images
    hottest = {patch.part: float(np.nanmax(patch.index)) for patch in patches}
    assert hottest[0] == pytest.approx(hottest[2], rel=2e-3)
    assert hottest[1] == pytest.approx(hottest[3], rel=2e-3)
    assert hottest[0] > 1.02 * hottest[1]


# bars beside a tray


@pytest.mark.parametrize("angle", [0.0, 90.0])
def test_bars_stand_about_the_joint_box_and_clear_of_every_silhouette(angle):
    once = PlaceDrawing(copies=(3, 2), spacing=(20.0, 14.0))(label(angle=angle), Bench()).artwork
    merged = Merge()(once, Bench()).artwork
    out = EqualizeWidth(clearance=1.5)(merged, Bench(machine=Machine(field=(150.0, 150.0)))).artwork
    bars = out.shapes[0].bars
    assert min(bars.distance(part) for part in out.parts) >= 1.5
    left, top, right, bottom = shapely.total_bounds(np.array(out.parts, dtype=object))
    centre = ((left + right) / 2, (top + bottom) / 2)
    wide = (right - left, bottom - top)[angle == 90.0] + 2 * (1.5 + 0.6)
    low, high = (
        (bars.bounds[0], bars.bounds[2]) if angle == 0.0 else (bars.bounds[1], bars.bounds[3])
    )
    assert (low + high) / 2 == pytest.approx(centre[angle == 90.0])
    assert high - low == pytest.approx(wide, abs=1e-3)
    (area,) = written(out)["fronds"]
    for v in (0.05, 3.0, 16.0):
        first = shapely.total_bounds(np.array(out.parts, dtype=object))
        start = first[1] + 2 if angle == 0.0 else first[0] + 2
        at = start + v - (out.page.top if angle == 0.0 else out.page.left)
        pieces = row_pieces(area, angle, at)
        if len(pieces):
            assert pieces[-1][1] - pieces[0][0] == pytest.approx(wide, abs=1e-3)


def test_each_copy_brings_its_keep_off_area_and_bars_miss_all_of_them():
    peg = Point(28.4, 9).buffer(0.3)
    made = label(keep_off=[peg])
    tray = PlaceDrawing(copies=(2, 1), spacing=(40.0, 20.0))
    merged = Merge()(tray(made, Bench()).artwork, Bench()).artwork
    assert len(merged.keep_off) == 2
    # bars from 2 to 2.6 mm beside the outermost label: on the peg of the right copy
    with pytest.raises(Refusal, match="keep-off"):
        EqualizeWidth()(merged, Bench())
    bars = EqualizeWidth(clearance=3.5)(merged, Bench()).artwork.shapes[0].bars
    assert min(bars.distance(area) for area in merged.keep_off) > 0


# from the recipe


def test_several_parts_of_a_drawing_are_each_a_body():
    drawing = b"""<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="30mm"
      viewBox="0 0 60 30">
      <rect id="one" x="4" y="4" width="20" height="20" fill="none" stroke="#000"/>
      <rect id="two" x="30" y="4" width="26" height="20" fill="none" stroke="#000"/>
      <path id="leaf" d="M8 8 H20 V12 H8 Z"/><path id="moth" d="M36 8 H50 V12 H36 Z"/></svg>"""
    recipe = """recipe: 1
part: [{outline: "#one", height: 4 mm}, {outline: "#two", height: 4 mm}]
machine: {field: [110 mm, 80 mm], focal_length: 160 mm, spot: 0.06 mm}
settings: {engrave: {power: 50 %, speed: 300 mm/s, pitch: 0.1 mm}}
passes: [merge, {equalize-width: {clearance: 2 mm, bar: 0.6 mm}}]
"""
    result = convert(load_recipe(None, recipe), drawing, "tray.svg")
    assert result.data is not None
    bars = result.after.shapes[0].bars
    # symmetric about the joint box from 4 to 56: 30 mm; 26 + 2 + 0.6 mm to either side
    assert bars.bounds[::2] == pytest.approx((30 - 28.6, 30 + 28.6), abs=1e-3)
    assert {patch.part for patch in heat_index(result.after, result.bench).images} == {0, 1}
    assert "beam-leans" in {f.code for f in result.findings}
