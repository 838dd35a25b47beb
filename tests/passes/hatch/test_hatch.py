"""Rows of our own: counted and measured by hand, and against cuts of long lines by GEOS."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon, Point, box

from preprocess.engine.facts import BARRED, FILLED, POWERED, ZONED
from preprocess.engine.ledger import imbalances, totals
from preprocess.errors import Refusal
from preprocess.geometry.rows.hatching import Hatching, hatch_areas, inset_union
from preprocess.model.artwork.output import output_layers
from preprocess.model.artwork.settings import Direction, Operation, Settings
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.machine import FirstRow, Machine
from preprocess.passes.hatch.hatch import Hatch
from preprocess.passes.merge import Merge
from preprocess.write.svg.svg_document import svg_bytes
from preprocess.write.verify.readback import disagreements
from tests.passes.benches import artwork, leaf, row_pieces, shape
from tests.passes.strategies import areas, drawn, turned

SCORE = Operation.SCORE
SPOT = Bench(machine=Machine(spot=0.08))
PANEL = shape("panel", box(5, 4, 15, 5))


def scored(art, power=0.3, speed=250.0):
    """The same with settings to score by."""
    return replace(
        art,
        layers=tuple(
            replace(n, settings={**n.settings, SCORE: Settings(power=power, speed=speed)})
            for n in art.layers
        ),
    )


def run(hatch, *shapes, bench=None, **more):
    art = scored(artwork(shapes, **more))
    outcome = hatch(art, bench or Bench())
    assert imbalances(totals(art), outcome.changes, totals(outcome.artwork)) == ()
    return outcome


def lines(hatch, *shapes, bench=None, **more):
    """Ends of the lines of the first shape, n×2×2, rounded to 1e-6."""
    (first, *_) = run(hatch, *shapes, bench=bench, **more).artwork.shapes
    assert first.operation is SCORE
    return np.round(shapely.get_coordinates(first.geometry).reshape(-1, 2, 2), 6)


def codes(outcome):
    return [finding.code for finding in outcome.findings]


def ys(found):
    return found[:, 0, 1].tolist()


def test_a_panel_has_as_many_rows_as_pitches_fit_in():
    found = lines(Hatch(inset=0.0), PANEL)
    assert ys(found) == pytest.approx([4 + i / 10 for i in range(10)])
    assert found[:, :, 0].tolist() == [[5, 15]] * 10


def test_half_the_spot_is_kept_inside_the_edge():
    found = lines(Hatch(pitch=0.2), PANEL, bench=SPOT)
    assert ys(found) == pytest.approx([4.04, 4.24, 4.44, 4.64, 4.84])
    assert found[:, :, 0].tolist() == [[5.04, 14.96]] * 5


def test_an_inset_follows_slanted_edges_at_a_right_angle():
    """Along the row it is longer: by 1 / sin of the edge's angle with the row."""
    triangle = shape("tip", shapely.Polygon([(0, 0), (40, 0), (0, 30)]))
    (first, *_) = lines(Hatch(inset=0.6), triangle)
    # edges x = 0.6, y = 0.6, and 3 x + 4 y = 120 − 5 · 0.6
    assert first.ravel() == pytest.approx([0.6, 0.6, (117 - 4 * 0.6) / 3, 0.6])


@pytest.mark.parametrize(
    ("every", "order"),
    [
        (1, [0, 1, 2, 3, 4, 5, 6, 7, 8, 9]),
        (2, [0, 2, 4, 6, 8, 1, 3, 5, 7, 9]),
        (3, [0, 3, 6, 9, 1, 4, 7, 2, 5, 8]),
        (4, [0, 4, 8, 2, 6, 1, 5, 9, 3, 7]),
        (20, [0, 5, 2, 7, 4, 9, 1, 6, 3, 8]),
    ],
)
def test_interleaved_rows_come_round_by_round(every, order):
    found = lines(Hatch(inset=0.0, every=every), PANEL)
    assert ys(found) == pytest.approx([4 + i / 10 for i in order])


def test_two_way_rows_alternate_in_the_order_they_are_marked():
    found = lines(Hatch(inset=0.0, every=4, direction=Direction.TWO_WAY), PANEL)
    assert found[:, 0, 0].tolist() == [5, 15] * 5
    assert found[:, 1, 0].tolist() == [15, 5] * 5


def test_on_the_way_back_runs_come_in_reverse():
    twins = shape("twins", MultiPolygon([box(0, 0, 2, 1), box(5, 0, 6, 1)]))
    found = lines(Hatch(inset=0.0, pitch=0.5, direction=Direction.TWO_WAY), twins)
    assert found[:, :, 0].tolist() == [[0, 2], [5, 6], [6, 5], [2, 0]]


def test_each_shape_begins_anew_to_the_right():
    one, two = shape("one", box(0, 0, 3, 0.5)), shape("two", box(5, 0, 8, 1))
    shapes = run(Hatch(inset=0, pitch=0.5, direction="two-way"), one, two).artwork.shapes
    starts = [shapely.get_coordinates(s.geometry)[0, 0] for s in shapes]
    assert starts == [0, 5]


def test_direction_pitch_and_angle_are_the_layers_unless_given():
    art = artwork([PANEL], pitch=0.25, angle=90.0)
    engraving = replace(art.layers[0].settings[Operation.ENGRAVE], direction=Direction.TWO_WAY)
    art = replace(art, layers=(replace(art.layers[0], settings={Operation.ENGRAVE: engraving}),))
    ((shaped),) = Hatch(inset=0)(art, Bench()).artwork.shapes
    found = np.round(shapely.get_coordinates(shaped.geometry).reshape(-1, 2, 2), 6)
    assert found[:, 0, 0].tolist() == pytest.approx([5 + i / 4 for i in range(40)])
    assert found[:2, :, 1].tolist() == [[5, 4], [4, 5]]


def test_run_outs_lengthen_every_run_and_join_where_they_meet():
    twins = shape("twins", MultiPolygon([box(0, 0, 2, 1), box(3, 0, 4, 1)]))
    apart = lines(Hatch(inset=0, pitch=0.5, run_out=0.4), twins)
    assert apart[:2, :, 0].tolist() == [[-0.4, 2.4], [2.6, 4.4]]
    outcome = run(Hatch(inset=0, pitch=0.5, run_out=0.6), twins)
    (one,) = outcome.artwork.shapes
    assert one.geometry.length == pytest.approx(2 * (4 + 1.2))
    (beyond,) = [f for f in outcome.findings if f.code == "rows-run-out"]
    assert beyond.message.startswith("run-outs mark 4.4 mm beyond")


def test_chords_of_a_disc():
    """The chord at height h is 2 √(r² − h²); the disc is drawn finely enough for 1e-3 mm."""
    disc = shape("seed", Point(20, 20).buffer(5, quad_segs=400))
    found = lines(Hatch(inset=0.5, pitch=0.3), disc)
    heights = 4.5 - 0.3 * np.arange(1, 30)  # the row that touches the top has no length
    assert found[:, 0, 1] == pytest.approx(20 - heights, abs=1e-4)
    lengths = found[:, 1, 0] - found[:, 0, 0]
    chords = 2 * np.sqrt(4.5**2 - heights**2)
    # offsets hold to 1 µm of the radius, which changes a chord c by 4 r / c times as much
    assert np.all(np.abs(lengths - chords) < 0.001 * 4 * 4.5 / chords)
    assert abs(lengths.sum() - chords.sum()) < 0.001 * (4 * 4.5 / chords).sum() / 2


def test_a_cross_has_a_second_set_after_the_first():
    found = lines(Hatch(inset=0, pitch=0.25, cross=True), PANEL)
    assert len(found) == 4 + 40
    assert np.all(found[:4, 0, 1] == found[:4, 1, 1])
    assert np.all(found[4:, 0, 0] == found[4:, 1, 0])
    assert found[4].tolist() == [[5, 5], [5, 4]]


@pytest.mark.parametrize(
    ("rule", "first", "count"),
    [(FirstRow.EDGE, 4.03, 10), (FirstRow.HALF_PITCH, 4.08, 10), (FirstRow.PAGE, 4.1, 10)],
)
def test_rows_begin_where_those_of_the_machine_do(rule, first, count):
    panel = shape("panel", box(5, 4.03, 15, 5.03))
    found = lines(Hatch(inset=0), panel, bench=Bench(machine=Machine(first_row=rule)))
    assert len(found) == count
    assert found[0, 0, 1] == pytest.approx(first)


def test_zones_side_by_side_go_on_with_one_grid_and_no_gap():
    """A panel cut at 7.3 mm and at a height between two rows has the rows of the whole."""
    whole = lines(Hatch(inset=0.04), PANEL)
    pieces = [box(5, 4, 7.3, 5), box(7.3, 4, 15, 4.47), box(7.3, 4.47, 15, 5)]
    zones = [shape(f"z{i}", piece, level=i + 1) for i, piece in enumerate(pieces)]
    outcome = run(Hatch(inset=0.04), *zones, shares=(1.0, 0.9, 0.8))
    rows = [shapely.get_coordinates(s.geometry).reshape(-1, 2, 2) for s in outcome.artwork.shapes]
    assert [s.level for s in outcome.artwork.shapes] == [1, 2, 3]
    right = np.concatenate(rows[1:])
    assert right[:, 0, 1] == pytest.approx(whole[:, 0, 1])
    assert rows[0][:, 1, 0] == pytest.approx([7.3] * 10)
    assert right[:, 0, 0] == pytest.approx([7.3] * 10)
    assert sum(s.geometry.length for s in outcome.artwork.shapes) == pytest.approx(10 * 9.92)


def test_levels_keep_their_share_of_the_power_of_scoring():
    zones = [shape("a", box(0, 0, 4, 1), level=1), shape("b", box(4, 0, 6, 1), level=2)]
    outputs = output_layers(run(Hatch(), *zones, shares=(1.0, 0.8)).artwork)
    assert [(o.id, o.settings.power) for o in outputs] == [
        ("fronds-score-1", 0.3),
        ("fronds-score-2", 0.24),
    ]


def test_what_gets_no_row_is_named():
    thin = shape("hair", box(0, 0, 10, 0.05))
    mixed = shape("mixed", MultiPolygon([box(0, 2, 5, 4), box(8, 2, 8.07, 4)]))
    outcome = run(Hatch(), thin, mixed, PANEL, bench=SPOT)
    (lost,) = [f for f in outcome.findings if f.code == "piece-without-row"]
    assert lost.elements == ("hair", "mixed")
    assert lost.message.endswith("too thin for a row will not be marked: 0.64 mm² in all")
    assert [s.id for s in outcome.artwork.shapes] == ["mixed", "panel"]


def test_necks_that_the_inset_closes_are_measured():
    neck = shape("vase", box(0, 0, 4, 4) | box(4, 1.95, 14, 2.05) | box(14, 0, 18, 4))
    outcome = run(Hatch(inset=0.1), neck)
    (thin,) = [f for f in outcome.findings if f.code == "thin-places-unhatched"]
    assert thin.message.startswith("no row in 1.00 mm² of 1 tip or neck narrower")
    assert "thin-places-unhatched" not in codes(run(Hatch(inset=0.04), neck))


def test_overlapping_areas_are_warned_of():
    outcome = run(Hatch(inset=0), PANEL, shape("over", box(14, 4, 20, 5)))
    (twice,) = [f for f in outcome.findings if f.code == "rows-overlap"]
    assert "1.00 mm²" in twice.message


@pytest.mark.parametrize(
    ("power", "speed", "missing"),
    [(None, None, "power and no speed"), (0.3, None, "speed"), (None, 250.0, "power")],
)
def test_scoring_needs_settings(power, speed, missing):
    art = scored(artwork([PANEL]), power, speed)
    (told,) = [f for f in Hatch()(art, Bench()).findings if f.code == "score-settings-missing"]
    assert f"has no {missing} to score its rows" in told.message
    assert "score-settings-missing" not in codes(Hatch()(scored(art), Bench()))


def test_it_tells_when_other_lines_are_scored_alike():
    vein = replace(
        PANEL, id="vein", operation=SCORE, geometry=shapely.MultiLineString([[(0, 0), (9, 9)]])
    )
    outcome = run(Hatch(), PANEL, vein)
    assert [f.elements for f in outcome.findings if f.code == "rows-beside-lines"] == [("vein",)]
    assert outcome.artwork.shapes[1] == vein


def test_without_a_spot_it_says_that_rows_reach_the_edge():
    assert "inset-unknown" in codes(run(Hatch(), PANEL))
    assert "inset-unknown" not in codes(run(Hatch(), PANEL, bench=SPOT))
    assert "inset-unknown" not in codes(run(Hatch(inset=0.0), PANEL))


def test_nothing_to_hatch():
    art = artwork([replace(PANEL, operation=SCORE)])
    outcome = Hatch()(art, Bench())
    assert outcome.artwork == art
    assert codes(outcome) == ["nothing-to-hatch"]


def test_a_layer_without_pitch_is_refused_unless_hatch_has_one():
    with pytest.raises(Refusal, match="'fronds' has no pitch"):
        run(Hatch(), PANEL, pitch=None)
    assert len(lines(Hatch(inset=0, pitch=0.5), PANEL, pitch=None)) == 2


def test_bars_are_not_lost():
    barred = replace(PANEL, bars=MultiPolygon([box(0, 4, 1, 5)]))
    with pytest.raises(Refusal, match="bars beside 'panel'"):
        run(Hatch(), barred)
    assert not {BARRED, POWERED} & (Hatch.contract.keeps | Hatch.contract.gives)


def test_the_file_holds_the_rows_in_marking_order():
    shapes = [shape("leaf", leaf(20, 20, 12, 5, turn=0.4)), PANEL]
    art = run(Hatch(every=3, direction=Direction.TWO_WAY, angle=30.0), *shapes).artwork
    colours = {"fronds-score": "#0072b2"}
    data = svg_bytes(art, colours=colours)
    assert disagreements(art, colours, data) == ()
    first, second = data.split(b"\nM", 2)[1:]
    swapped = data.replace(first, b"@", 1).replace(second.split(b"\n", 1)[0], first, 1)
    swapped = swapped.replace(b"@", second.split(b"\n", 1)[0], 1)
    assert disagreements(art, colours, swapped) != ()


PITCH = 0.37
ROUNDS = {1: [0], 2: [0, 1], 5: [0, 2, 4, 1, 3]}


@settings(max_examples=40)
@given(areas(), st.floats(0, 180), st.sampled_from([1, 2, 5]), st.booleans())
def test_runs_are_those_of_long_lines_cut_by_geos(painted, angle, every, two_way):
    (merged,) = Merge()(drawn(painted), Bench()).artwork.shapes
    first = -31.0123
    hatching = Hatching(
        angle=angle, first=first, pitch=PITCH, count=200, every=every, two_way=two_way
    )
    (found,) = hatch_areas([merged.geometry], hatching)
    rows = [row_pieces(merged.geometry, angle, v) for v in hatching.rows]
    assert found.length == pytest.approx(sum(np.ptp(r, axis=1).sum() for r in rows if len(r)))
    ends = shapely.get_coordinates(found).reshape(-1, 2, 2)
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    v = ends[:, :, 0] * s + ends[:, :, 1] * c
    row = np.rint((v[:, 0] - first) / PITCH).astype(int)
    assert v == pytest.approx((first + PITCH * row)[:, None].repeat(2, 1))
    changes = row[np.concatenate([[True], np.diff(row) != 0])]
    lit = [i for i in range(200) if len(rows[i]) and np.ptp(rows[i], axis=1).max() > 1e-5]
    if {i for i in range(200) if len(rows[i])} == set(lit):
        assert changes.tolist() == sorted(lit, key=lambda i: (ROUNDS[every].index(i % every), i))


@settings(max_examples=30)
@given(areas(), st.floats(0.1, 179.9), st.floats(-20, 20), st.floats(-20, 20))
def test_turning_and_moving_the_drawing_turns_and_moves_the_rows(painted, angle, dx, dy):
    """With the angle of the rows; rows of the edge rule move along with the drawing."""
    hatch = Hatch(pitch=PITCH, inset=0.03, angle=0.0, every=2)
    (plain,) = hatch(drawn([shapely.union_all(painted)]), Bench()).artwork.shapes
    there = shapely.transform(
        turned(shapely.union_all(painted), angle), lambda p: p + np.array([dx, dy])
    )
    (other,) = replace(hatch, angle=angle)(
        artwork([shape("a", MultiPolygon(list(shapely.get_parts(there))))]), Bench()
    ).artwork.shapes
    before, after = (np.sort(shapely.length(shapely.get_parts(s.geometry))) for s in (plain, other))
    # corners are rounded to 1e-6 mm and joins to 1 µm
    assert before.sum() == pytest.approx(after.sum(), abs=0.01 + 1e-4 * before.sum())


@settings(max_examples=30)
@given(areas(least=2), st.floats(0.05, 0.3))
def test_an_inset_moves_nothing_where_areas_touch(painted, inset):
    whole = shapely.union_all(painted)
    halves = [whole & box(-1, -1, 8.03, 99), whole & box(8.03, -1, 99, 99)]
    given_ = [MultiPolygon([p for p in shapely.get_parts(h) if p.area > 0]) for h in halves]
    kept = shapely.union_all(inset_union([g for g in given_ if not g.is_empty], inset))
    expected = shapely.buffer(whole, -inset, join_style="mitre")
    assert kept.symmetric_difference(expected).area < 1e-4 * (1 + whole.length)


def test_facts_hold_afterwards():
    zones = [shape("a", box(0, 0, 4, 1), level=1), shape("b", box(4, 0, 6, 1), level=2)]
    after = run(Hatch(), *zones, shares=(1.0, 0.8)).artwork
    assert all(fact.holds(after, "fronds") for fact in (FILLED, ZONED))


@pytest.mark.parametrize("inset", [0.0, 0.05])
@pytest.mark.parametrize(
    "beds",
    [
        (box(5, 5, 15, 15), box(10, 8, 20, 18)),
        (box(5, 5, 15, 15), box(5, 5, 15, 15)),
        (box(5, 5, 15, 15), box(8, 8, 10, 10)),
        (Point(10, 10).buffer(6), Point(15, 12).buffer(6)),
        (box(5, 5, 15, 15), box(5, 8, 15, 18), box(12, 2, 14, 16)),
    ],
)
def test_run_outs_of_areas_that_overlap_are_measured_beyond_all_of_them(beds, inset):
    outcome = run(
        Hatch(inset=inset, run_out=0.5), *(shape(f"bed-{n}", b) for n, b in enumerate(beds))
    )
    (told,) = [finding for finding in outcome.findings if finding.code == "rows-run-out"]
    drawn = shapely.union_all(beds)
    out = sum(
        line.difference(drawn).length for s in outcome.artwork.shapes for line in s.geometry.geoms
    )
    assert float(told.message.split()[2]) == pytest.approx(out, abs=0.051)
    assert "rows-overlap" in codes(outcome)
