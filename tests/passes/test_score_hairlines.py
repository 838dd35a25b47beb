"""Hairlines scored: what moves where, what is told, and promises on random artwork."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon, Point, box

from preprocess.engine.ledger import imbalances, totals
from preprocess.errors import Refusal
from preprocess.model.artwork.settings import Operation
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.machine import Machine
from preprocess.passes.score_hairlines import ScoreHairlines
from preprocess.passes.strokes_to_areas import StrokesToAreas
from preprocess.testing import check_pass, read_artwork
from tests.passes.strategies import artwork, shape, turned

STEP = ScoreHairlines(narrower_than=0.3, stroke=0.1)
LEAF = box(2, 2, 7, 7) | box(7, 4, 12, 4.1)


def run(step, *shapes, bench=None):
    art = artwork(shapes)
    outcome = step(art, bench or Bench())
    assert imbalances(totals(art), outcome.changes, totals(outcome.artwork)) == ()
    return outcome


def codes(outcome):
    return [finding.code for finding in outcome.findings]


def lines_of(art):
    return [s for s in art.shapes if s.operation is Operation.SCORE]


def areas_of(art):
    return [s for s in art.shapes if s.is_engraved_area]


def test_the_ledger_counts_area_that_became_length():
    (change,) = run(STEP, shape("leaf", LEAF)).changes
    assert change.removed.area - change.added.area == pytest.approx(0.5)
    assert (change.removed.length, change.added.length) == pytest.approx((0, 5))


def test_the_line_comes_right_after_its_shape_and_belongs_to_its_sources():
    art = run(STEP, shape("leaf", LEAF), shape("seed", box(20, 20, 22, 22))).artwork
    assert [s.id for s in art.shapes] == ["leaf", "leaf-hairlines", "seed"]
    assert [source.id for source in art.shapes[1].sources] == ["leaf"]


def test_what_is_thin_everywhere_keeps_its_id():
    (line,) = run(STEP, shape("vein", box(2, 2, 12, 2.1))).artwork.shapes
    assert (line.id, line.operation) == ("vein", Operation.SCORE)


def test_three_rows_of_the_layer_are_the_usual_width():
    """The pitch is 0.1 mm: 0.29 mm is a hairline, 0.31 mm is none."""
    shapes = shape("thin", box(2, 2, 12, 2.29)), shape("wide", box(2, 5, 12, 5.31))
    art = run(ScoreHairlines(), *shapes).artwork
    assert [s.id for s in lines_of(art)] == ["thin"]


def test_without_a_pitch_a_width_is_asked_for():
    art = artwork([shape("leaf", LEAF)])
    bare = replace(art, layers=tuple(replace(layer, settings={}) for layer in art.layers))
    with pytest.raises(Refusal, match="'leaflets' has no pitch"):
        ScoreHairlines()(bare, Bench())
    assert lines_of(STEP(bare, Bench()).artwork)


def test_bars_must_come_after():
    barred = replace(shape("leaf", LEAF), bars=MultiPolygon([box(30, 2, 31, 7)]))
    with pytest.raises(Refusal, match="bars beside 'leaf'"):
        STEP(artwork([barred]), Bench())


def test_the_spot_of_the_machine_is_how_wide_a_line_marks():
    rib = shape("rib", box(2, 2, 12, 2.2))
    step = ScoreHairlines(narrower_than=0.3)
    wide, fine, none = (
        run(step, rib, bench=Bench(machine=machine))
        for machine in (Machine(spot=0.2), Machine(spot=0.07), None)
    )
    assert [len(lines_of(o.artwork)[0].geometry.geoms) for o in (wide, fine, none)] == [1, 3, 1]
    assert "hairline-single" in codes(none)
    assert "hairline-single" not in codes(wide)


def test_hairlines_too_wide_for_their_lines_are_told():
    step = replace(STEP, stroke=0.05, side_by_side=2)
    assert "hairline-gaps" in codes(run(step, shape("rib", box(2, 2, 12, 2.2))))


def test_missing_settings_to_score_by_are_told():
    assert "score-settings-missing" in codes(run(STEP, shape("leaf", LEAF)))


def test_a_drawing_without_hairlines_stays_and_says_so():
    art = artwork([shape("seed", box(2, 2, 5, 5)), shape("dot", Point(9, 9).buffer(0.1))])
    outcome = STEP(art, Bench())
    assert outcome.artwork == art
    assert codes(outcome) == ["no-hairlines"]


def test_a_levelled_shape_keeps_its_level_and_its_lines_have_none():
    (area, line) = run(STEP, replace(shape("leaf", LEAF), level=2)).artwork.shapes
    assert (area.level, line.level) == (2, None)


@pytest.mark.parametrize(
    "path",
    [
        "M2 2 L30 2.1 L2 2.2 Z",
        "M2 2 h9 v4 h6 v.1 h-6 v4 h-9 Z M4 4 v3 h3 v-3 Z",
        "M2 2 h20 v.1 h-20 Z M3 1 h.1 v3 h-.1 Z",
        "M5 5 a4 4 0 1 1 0 .01 Z",
    ],
)
def test_all_promises_of_a_pass(path):
    size = 'width="40mm" height="20mm" viewBox="0 0 40 20"'
    text = f'<svg xmlns="http://www.w3.org/2000/svg" {size}><path d="{path}"/></svg>'
    art, bench = read_artwork(text, "recipe: 1\nsettings: {engrave: {pitch: 0.1 mm}}")
    filled = StrokesToAreas()(art, bench).artwork
    check_pass(ScoreHairlines(), filled, bench)


thin_or_wide = st.tuples(
    st.floats(0, 12), st.floats(0, 12), st.floats(0, 180), st.floats(1, 6), st.floats(0.04, 1.5)
).map(lambda s: shapely.affinity.rotate(box(s[0], s[1], s[0] + s[3], s[1] + s[4]), s[2]))
art_of = st.lists(thin_or_wide, min_size=1, max_size=5).map(shapely.union_all)


def engraved(art):
    return shapely.union_all([s.geometry for s in areas_of(art)])


def scored(art):
    return shapely.union_all([s.geometry for s in lines_of(art)])


@settings(max_examples=30, deadline=None)
@given(art_of, st.floats(0.1, 179.9), st.floats(-5, 5), st.floats(-5, 5))
def test_turning_and_moving_the_drawing_turns_and_moves_the_result(painted, angle, dx, dy):
    there = lambda g: shapely.transform(turned(g, angle), lambda p: p + np.array([dx, dy]))
    here = lambda g: turned(g, 0.0)
    one = run(STEP, shape("a", here(painted))).artwork
    other = run(STEP, shape("a", there(painted))).artwork
    back = shapely.affinity.rotate(
        shapely.affinity.translate(engraved(one), 0, 0), -angle, origin=(20, 20)
    )
    moved = shapely.affinity.translate(back, dx, dy)
    assert moved.symmetric_difference(engraved(other)).area < 1e-3
    assert scored(one).length == pytest.approx(scored(other).length, rel=2e-3, abs=2e-3)


@settings(max_examples=30, deadline=None)
@given(art_of)
def test_nothing_grows_and_a_second_run_changes_nothing(painted):
    drawn = turned(painted, 0.0)
    once = run(STEP, shape("a", drawn)).artwork
    assert engraved(once).difference(drawn).area < 1e-9
    assert scored(once).difference(drawn.buffer(1e-6)).length < 1e-9
    twice = STEP(once, Bench()).artwork
    assert scored(twice).length == pytest.approx(scored(once).length, abs=1e-9)
    assert engraved(twice).symmetric_difference(engraved(once)).area < 1e-9


@settings(max_examples=30, deadline=None)
@given(art_of)
def test_nothing_vanishes(painted):
    """What is no longer engraved lies within half a local width of a line."""
    drawn = turned(painted, 0.0)
    once = run(replace(STEP, stroke=None), shape("a", drawn)).artwork
    gone = drawn.difference(engraved(once))
    near = scored(once).buffer(0.3)
    assert gone.difference(near).area < 1e-3 * (1 + gone.area)
