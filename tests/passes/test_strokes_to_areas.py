from __future__ import annotations

from dataclasses import replace

import pytest
from shapely import MultiLineString, box

from preprocess.engine.facts import FILLED
from preprocess.errors import Refusal
from preprocess.model.artwork.artwork import Drawing
from preprocess.model.artwork.settings import Layer, Operation
from preprocess.model.artwork.shape import Shape, Stroke
from preprocess.model.artwork.source import Selection, Source
from preprocess.model.bench.bench import Bench
from preprocess.passes.strokes_to_areas import StrokesToAreas
from tests.passes.strategies import artwork, shape


def line(name, points, stroke, operation=Operation.SCORE, layer="leaflets"):
    lines = MultiLineString([points])
    source = Source(id=name, label="Leaflets", geometry=lines)
    return Shape(
        id=name,
        layer=layer,
        operation=operation,
        geometry=lines,
        sources=(source,),
        stroke=stroke,
    )


def within(layer_operation, *shapes):
    layer = Layer(name="leaflets", operation=layer_operation, settings={})
    return replace(artwork(shapes), layers=(layer,))


STEM = line("stem", [(0, 0), (10, 0)], Stroke(width=2))
VEIN = line("vein", [(0, 5), (10, 5)], Stroke(width=0.2), Operation.ENGRAVE)
BARE = line("bare", [(0, 8), (4, 8)], None, Operation.ENGRAVE)


@pytest.mark.parametrize(
    ("layer", "turns"),
    [
        (None, True),
        (Operation.ENGRAVE, True),
        (Operation.SCORE, False),
        (Operation.CUT, False),
        (Operation.GUIDE, False),
    ],
)
def test_only_lines_that_nobody_chose_to_trace_become_areas(layer, turns):
    art = within(layer, STEM)
    outcome = StrokesToAreas()(art, Bench())
    assert outcome.artwork.shapes[0].is_engraved_area is turns
    assert bool(outcome.findings) is turns
    (named,) = StrokesToAreas(only=Selection(label="Leaflets"))(art, Bench()).artwork.shapes
    assert named.is_engraved_area
    assert named.geometry.area == pytest.approx(20)


def test_thin_lines_to_engrave_are_scored_and_named():
    outcome = StrokesToAreas(wider_than=0.3)(within(Operation.ENGRAVE, STEM, VEIN, BARE), Bench())
    stem, vein, bare = outcome.artwork.shapes
    assert stem.is_engraved_area
    assert vein.operation is bare.operation is Operation.SCORE
    assert (vein.geometry, vein.stroke) == (VEIN.geometry, VEIN.stroke)
    assert FILLED.holds(outcome.artwork, "leaflets")
    areas, lines = outcome.findings
    assert (areas.code, areas.elements) == ("strokes-became-areas", ("stem",))
    assert (lines.code, lines.elements) == ("strokes-stay-lines", ("vein", "bare"))
    assert "2 strokes no wider than 0.3 mm stay lines to score" in lines.message
    (change,) = outcome.changes
    assert change.added.area == pytest.approx(20)
    assert change.removed.length == pytest.approx(10)


def test_a_cut_line_thinner_than_the_limit_stays_cut_even_when_named():
    cut = replace(VEIN, operation=Operation.CUT)
    step = StrokesToAreas(wider_than=0.3, only=Selection(label="Leaflets"))
    (left,) = step(within(Operation.CUT, cut), Bench()).artwork.shapes
    assert left.operation is Operation.CUT


def test_a_width_that_equals_the_limit_but_for_rounding_is_not_wider():
    noisy = replace(STEM, stroke=Stroke(width=0.3, matrix=(1.0000000001, 0, 0, 1, 0, 0)))
    assert noisy.stroke.width_mm > 0.3
    (left,) = StrokesToAreas(wider_than=0.3)(within(None, noisy), Bench()).artwork.shapes
    assert not left.is_area


def test_the_order_stays_and_sources_know_what_was_painted():
    leaf = shape("leaf", box(0, 0, 3, 3))
    after = StrokesToAreas()(within(None, STEM, leaf, VEIN), Bench()).artwork
    assert [s.id for s in after.shapes] == ["stem", "leaf", "vein"]
    stem = after.shapes[0]
    assert stem.sources[0].geometry == stem.geometry
    assert stem.stroke is None
    assert after.shapes[1] is leaf


def test_a_stroke_that_paints_nothing_is_left_out_and_named():
    hidden = replace(STEM, stroke=Stroke(width=2, without=shape("x", box(-5, -5, 15, 5)).geometry))
    outcome = StrokesToAreas()(within(None, hidden, VEIN), Bench())
    assert [s.id for s in outcome.artwork.shapes] == ["vein"]
    finding = next(f for f in outcome.findings if f.code == "stroke-paints-nothing")
    assert (finding.severity, finding.elements) == ("warn", ("stem",))
    assert finding.remedy
    assert finding.message == "left out 1 stroke without paint"
    (stays,) = StrokesToAreas(wider_than=0.3)(within(None, VEIN), Bench()).findings
    assert stays.message == "1 stroke no wider than 0.3 mm stays a line to score"


def test_round_ends_are_as_fine_as_the_drawing_asks():
    round_ = replace(STEM, stroke=Stroke(width=2, cap="round"))
    coarse, fine = (
        len(
            StrokesToAreas()(replace(within(None, round_), drawing=Drawing(tolerance=t)), Bench())
            .artwork.shapes[0]
            .geometry.geoms[0]
            .exterior.coords
        )
        for t in (0.05, 0.0005)
    )
    assert fine > 2 * coarse


def test_a_choice_that_matches_nothing_is_refused():
    with pytest.raises(Refusal, match="matches no shape"):
        StrokesToAreas(only=Selection(label="Roots"))(within(None, STEM), Bench())
