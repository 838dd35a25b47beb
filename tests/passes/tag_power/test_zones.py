"""tag-power: zones that tile, borders on whole pitches, levels as worked out by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon, Polygon, box
from shapely.affinity import rotate, translate

from preprocess.engine.facts import MERGED, POWERED, ZONED
from preprocess.engine.ledger import imbalances, totals
from preprocess.errors import Refusal
from preprocess.geometry.overlay.partition import NODE_GRID
from preprocess.marking.checks.artwork_checks import check_artwork
from preprocess.marking.job.plan import plan_of
from preprocess.marking.job.rows import row_spans
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.machine import FirstRow, Machine, RasterGroups
from preprocess.passes.tag_power.tag_power import PowerBy, TagPower
from tests.passes.benches import artwork, leaf, shape, turned, written

KITE = Polygon([(30, 8), (46, 20), (30, 32), (14, 20)])
STEPS = shapely.union_all([box(10, 10, 50, 14), box(25, 14, 35, 18), box(29, 18, 31.5, 22)])
"""Three blocks of 40 × 4, 10 × 4 and 2.5 × 4 mm: spans fall by a factor of 4 twice."""


def by_level(art):
    return {
        level: shapely.union_all([s.geometry for s in art.shapes if s.level == level])
        for level in {s.level for s in art.shapes}
    }


def test_blocks_become_the_levels_that_a_hand_gives_them():
    # limits between 40 and 2.5 for 3 levels: 40 / 16^(1/3) = 15.87, 40 / 16^(2/3) = 6.30
    out = TagPower(powers=(1.0, 0.9, 0.8))(artwork([shape("a", STEPS)]), Bench())
    assert {n: round(a.area, 9) for n, a in by_level(out.artwork).items()} == {1: 160, 2: 40, 3: 10}
    assert by_level(out.artwork)[2].bounds == (25, 14, 35, 18)
    assert "15.87, 6.30 mm" in out.findings[0].message
    assert out.artwork.layer("fronds").shares == (1.0, 0.9, 0.8)
    assert [f.code for f in out.findings] == ["zones"]


def segment(radius, chord):
    half = math.asin(chord / 2 / radius)
    return radius**2 * (half - math.sin(half) * math.cos(half))


def test_by_width_the_blocks_are_parted_by_their_own_width():
    tag = shapely.union_all([box(10, 10, 30, 20), box(30, 13, 45, 17), box(45, 14.5, 55, 15.5)])
    out = TagPower(by=PowerBy.WIDTH)(artwork([shape("a", tag)], pitch=0.1), Bench())
    found = by_level(out.artwork)
    # widths 10, 4, 1: limits 10 / 10^(1/3) = 4.64 and 2.15; discs of that width bulge into the
    # next, narrower block by the segment of a circle that the block's mouth cuts off (an arc of
    # some 5 mm; discs are drawn to 1/400 of their width, and regrown a little too far: 0.02 mm)
    one, two = segment(4.6416 / 2, 4), segment(2.1544 / 2, 1)
    assert found[1].area == pytest.approx(200 + one, abs=0.25)
    assert found[2].area == pytest.approx(60 - one + two, abs=0.25)
    assert found[3].area == pytest.approx(10 - two, abs=0.1)
    assert found[3].bounds == pytest.approx((45, 14.5, 55, 15.5), abs=0.02)


@pytest.mark.parametrize("by", list(PowerBy))
@pytest.mark.parametrize("angle", [0.0, 17.0, 90.0])
def test_zones_tile_the_area(by, angle):
    before = artwork([shape("a", KITE)], angle=angle)
    out = TagPower(by=by)(before, Bench())
    areas = [s.geometry for s in out.artwork.shapes]
    assert sum(a.area for a in areas) == pytest.approx(KITE.area, abs=NODE_GRID * KITE.length)
    assert shapely.union_all(areas).symmetric_difference(KITE).area <= NODE_GRID * KITE.length
    assert shapely.coverage_is_valid(shapely.get_parts(areas))
    assert not imbalances(totals(before), out.changes, totals(out.artwork))
    assert ZONED.holds(out.artwork, "fronds")
    assert MERGED.holds(out.artwork, "fronds")


@pytest.mark.parametrize("angle", [0.0, 17.0, 45.0, 90.0])
@pytest.mark.parametrize("rule", list(FirstRow))
@pytest.mark.parametrize("pitch", [0.1, 25.4 / 300])
def test_every_row_is_swept_once_also_on_the_written_file(angle, rule, pitch):
    machine = Machine(first_row=rule)
    before = artwork([shape("a", KITE)], angle=angle, pitch=pitch)
    (whole,) = plan_of(before, machine).steps
    out = TagPower()(before, Bench(machine=machine)).artwork
    again = artwork(
        [shape(name, area, level=int(name[-1])) for name, (area,) in written(out).items()],
        angle=angle,
        pitch=pitch,
        shares=(1.0, 1.0, 1.0),
    )
    for art in (out, again):
        rows = np.sort(np.concatenate([row_spans(s).v for s in plan_of(art, machine).steps]))
        assert np.diff(rows) == pytest.approx(pitch, abs=5e-4)
        assert abs(len(rows) - len(row_spans(whole))) <= 1


def test_borders_lie_a_whole_number_of_pitches_apart():
    for angle in (0.0, 30.0):
        out = TagPower(levels=4)(artwork([shape("a", KITE)], angle=angle), Bench()).artwork
        tops = [turned(a, angle).bounds[1] for s in out.shapes for a in s.geometry.geoms]
        steps = (np.array(tops) - min(tops)) / 0.1
        assert np.abs(steps - np.round(steps)).max() < 1e-6


def test_zones_of_few_rows_join_their_neighbour():
    # a step of 10 mm that is only 3 rows high between blocks of 40 and 2.5 mm
    low = shapely.union_all([box(10, 10, 50, 14), box(25, 14, 35, 14.3), box(29, 14.3, 31.5, 18)])
    few = TagPower(min_rows=4)(artwork([shape("a", low)]), Bench()).artwork
    assert sorted(by_level(few)) == [1, 3]
    enough = TagPower(min_rows=3)(artwork([shape("a", low)]), Bench()).artwork
    assert sorted(by_level(enough)) == [1, 2, 3]


@pytest.mark.parametrize("by", list(PowerBy))
def test_equal_widths_stay_one_level(by):
    out = TagPower(by=by)(artwork([shape("a", box(10, 10, 30, 12))]), Bench())
    assert [s.level for s in out.artwork.shapes] == [1]
    assert out.findings[0].code == "one-level"


def test_separate_shapes_become_one_path_for_each_zone():
    shapes = [shape("a", KITE), shape("b", box(2, 2, 4, 6)), shape("c", MultiPolygon())]
    out = TagPower()(artwork(shapes), Bench()).artwork
    assert [(s.id, s.level) for s in out.shapes] == [
        ("a-zone-1", 3), ("a-zone-2", 2), ("a-zone-3", 1), ("a-zone-4", 2), ("a-zone-5", 3),
        ("b", 2), ("c", 1),
    ]  # fmt: skip


def test_under_each_colour_rows_span_all_shapes_of_the_layer():
    """Two narrow leaves side by side make wide rows together: only the lower end is narrow."""
    shapes = [shape("a", box(10, 10, 12, 20)), shape("b", box(40, 10, 42, 15))]
    machine = Machine(raster_groups=RasterGroups.EACH_COLOUR)
    out = TagPower(levels=2)(artwork(shapes), Bench(machine=machine)).artwork
    levels = by_level(out)
    assert levels[1].equals(shapely.union_all([box(10, 10, 12, 15), box(40, 10, 42, 15)]))
    assert levels[2].equals(box(10, 15, 12, 20))


def test_a_second_run_changes_nothing():
    once = TagPower(powers=(1.0, 0.9, 0.8))(artwork([shape("a", KITE)]), Bench()).artwork
    twice = TagPower(powers=(1.0, 0.9, 0.8))(once, Bench())
    assert twice.artwork == once
    assert [f.code for f in twice.findings] == ["zoned-already"]


def test_what_is_missing_is_named():
    with pytest.raises(Refusal, match="3 levels but 2 powers"):
        TagPower(powers=(1.0, 0.9))(artwork([shape("a", KITE)]), Bench())
    with pytest.raises(Refusal, match="has no pitch"):
        TagPower()(artwork([shape("a", KITE)], pitch=None), Bench())


def test_levels_that_nobody_gave_powers_are_named_at_the_end():
    out = TagPower()(artwork([shape("a", STEPS)]), Bench()).artwork
    assert not POWERED.holds(out, "fronds")
    (waiting,) = (f for f in check_artwork(out, Bench()) if f.code == "levels-without-power")
    assert waiting.severity == "warn"
    assert waiting.message == "all 3 levels of fronds keep the power of their layer"
    assert "solve-power" in waiting.remedy
    given = TagPower(powers=(1.0, 0.9, 0.8))(artwork([shape("a", STEPS)]), Bench()).artwork
    assert POWERED.holds(given, "fronds")
    assert "levels-without-power" not in {f.code for f in check_artwork(given, Bench())}


ART = st.lists(
    st.builds(
        leaf,
        st.floats(15, 45),
        st.floats(10, 30),
        st.floats(3, 20),
        st.floats(0.3, 5),
        st.floats(0, 3),
        st.just(6),
    ),
    min_size=1,
    max_size=4,
).map(shapely.union_all)


@settings(max_examples=40, deadline=None)
@given(ART, st.sampled_from(list(PowerBy)), st.floats(-180, 180), st.integers(2, 5))
def test_tagging_changes_no_geometry(art, by, angle, levels):
    before = artwork([shape("a", art)], angle=angle)
    out = TagPower(by=by, levels=levels)(before, Bench()).artwork
    areas = [s.geometry for s in out.shapes]
    assert sum(a.area for a in areas) == pytest.approx(art.area, abs=NODE_GRID * art.length + 1e-12)
    assert shapely.union_all(areas).symmetric_difference(art).area <= NODE_GRID * art.length + 1e-12
    assert all(a.is_valid for a in areas)


@settings(max_examples=25, deadline=None)
@given(ART, st.floats(-90, 90), st.floats(-20, 20), st.floats(-20, 20))
def test_turning_art_and_rows_turns_the_zones(art, angle, dx, dy):
    move = lambda g: translate(rotate(g, -angle, origin=(0, 0)), dx, dy)
    straight = by_level(TagPower()(artwork([shape("a", art)]), Bench()).artwork)
    other = by_level(TagPower()(artwork([shape("a", move(art))], angle=angle), Bench()).artwork)
    off = sum(
        move(straight.get(n, Polygon())).symmetric_difference(other.get(n, Polygon())).area
        for n in {*straight, *other}
    )
    # a row whose width lies on a limit may fall either way, and take a few rows with it
    assert off <= 0.02 * art.area + 1.0
