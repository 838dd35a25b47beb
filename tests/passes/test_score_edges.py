"""score-edges against closed forms of offset outlines, and what holds for any artwork."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon, Point, Polygon, box

from preprocess.errors import Refusal
from preprocess.geometry.offset.inset_lines import inset_outlines
from preprocess.model.artwork.output import output_layers
from preprocess.model.artwork.settings import Operation, Settings
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.machine import Machine
from preprocess.passes.score_edges import ScoreEdges, When
from preprocess.testing import check_pass
from tests.passes.benches import artwork, shape
from tests.passes.strategies import angles, areas, drawn

D = 0.05


def run(step, *shapes, bench=None):
    art = artwork(shapes)
    with_scoring = {**art.layers[0].settings, Operation.SCORE: Settings(power=0.3, speed=250.0)}
    art = replace(art, layers=tuple(replace(n, settings=with_scoring) for n in art.layers))
    return check_pass(step, art, bench, twice=False)


def edges(outcome):
    return [s for s in outcome.artwork.shapes if s.operation is Operation.SCORE]


def length(outcome):
    return sum(s.geometry.length for s in edges(outcome))


def test_a_ring_is_outlined_on_both_sides():
    seed = Point(20, 20).buffer(5, quad_segs=200) - Point(20, 20).buffer(3, quad_segs=200)
    outcome = run(ScoreEdges(inset=D), shape("seed", seed))
    assert length(outcome) == pytest.approx(2 * math.pi * (5 - D + 3 + D), abs=0.02)
    (line,) = edges(outcome)
    assert len(line.geometry.geoms) == 2
    assert all(ring.is_closed for ring in line.geometry.geoms)


def test_corners_of_a_star_are_kept_at_tips_and_between_them():
    """An edge gets shorter by d tan(turn / 2) at either end: tips turn by 144°, dents by −72°."""
    inner = 4 * math.cos(math.radians(72)) / math.cos(math.radians(36))
    corners = [
        (20 + r * math.cos(a), 20 + r * math.sin(a))
        for a, r in ((i * math.pi / 5, inner if i % 2 else 4) for i in range(10))
    ]
    star = Polygon(corners)
    tan = lambda degrees: math.tan(math.radians(degrees))
    outcome = run(ScoreEdges(inset=D), shape("star", star))
    assert length(outcome) == pytest.approx(star.length - 5 * 2 * D * (tan(72) - tan(36)))
    assert shapely.get_num_coordinates(edges(outcome)[0].geometry) == 11


def test_half_the_spot_is_the_inset_unless_given():
    outcome = run(ScoreEdges(), shape("p", box(0, 0, 4, 4)), bench=Bench(machine=Machine(spot=0.2)))
    assert length(outcome) == pytest.approx(4 * 3.8)
    with pytest.raises(Refusal, match="the machine's spot size is missing"):
        run(ScoreEdges(), shape("p", box(0, 0, 4, 4)))


@pytest.mark.parametrize(("when", "place"), [(When.BEFORE, 0), (When.AFTER, 1)])
def test_the_outline_is_marked_before_or_after_its_layer(when, place):
    step = ScoreEdges(inset=D, when=when, settings=Settings(power=0.2))
    art = run(step, shape("a", box(0, 0, 4, 4)), shape("b", box(9, 9, 12, 12), "seeds")).artwork
    outputs = output_layers(art)
    order = [o.id for o in outputs]
    assert order.index("fronds-edges") == place
    assert order.index("seeds-edges") == 2 + place
    mine = outputs[place]
    assert (mine.settings.power, mine.settings.speed) == (0.2, 250.0)


def test_touching_tiles_of_a_layer_are_one_unless_their_borders_are_wanted():
    """Three tiles of 4 × 4 in a row; each border is scored once."""
    tiles = [shape(f"t{i}", box(4 * i, 0, 4 * i + 4, 4)) for i in range(3)]
    assert length(run(ScoreEdges(inset=D), *tiles)) == pytest.approx(2 * (12 - 2 * D + 4 - 2 * D))
    whole = 4 * (4 - 2 * D)
    each = run(ScoreEdges(inset=D, inner_borders=True), *tiles)
    assert length(each) == pytest.approx(3 * whole - 2 * (4 - 2 * D), abs=4 * 0.0021)


def test_a_border_along_part_of_a_side_is_left_out_only_there():
    big, small = shape("big", box(0, 0, 10, 10)), shape("small", box(10, 2, 14, 5), "seeds")
    outcome = run(ScoreEdges(inset=D), big, small)
    one, two = edges(outcome)
    assert one.geometry.length == pytest.approx(4 * (10 - 2 * D))
    assert two.geometry.length == pytest.approx(2 * (7 - 4 * D) - (3 - 2 * D), abs=2 * 0.0021)
    other = run(ScoreEdges(inset=D), replace(small, layer="fronds"), replace(big, layer="seeds"))
    (line,) = [s for s in edges(other) if s.id == "big-edge"]
    # the side of 10 loses the 3 mm that the small one has scored
    assert line.geometry.length == pytest.approx(4 * (10 - 2 * D) - 3, abs=2 * 0.0021)
    assert len(line.geometry.geoms) == 1


def test_areas_that_cross_keep_their_outlines():
    one, two = MultiPolygon([box(0, 4, 20, 6)]), MultiPolygon([box(9, 0, 11, 12)])
    found = inset_outlines([one, two], D)
    assert [line.length for line in found] == pytest.approx([44 - 8 * D, 28 - 8 * D])


def test_what_is_too_thin_is_named_with_its_place():
    neck = box(0, 0, 4, 4) | box(4, 1.97, 8, 2.03) | box(8, 0, 12, 4)
    outcome = run(ScoreEdges(inset=D), shape("vase", neck))
    (told,) = [f for f in outcome.findings if f.code == "edge-left-out"]
    assert told.elements == ("vase",)
    assert box(4, 1.97, 8, 2.03).contains(Point(told.spot))
    assert "edge-left-out" not in {
        f.code for f in run(ScoreEdges(inset=0.02), shape("vase", neck)).findings
    }


def test_names_that_are_taken_get_a_number():
    art = run(ScoreEdges(inset=D), shape("a", box(0, 0, 4, 4))).artwork
    again = check_pass(ScoreEdges(inset=D), art, twice=False).artwork
    assert [n.name for n in again.layers] == ["fronds", "fronds-edges-1", "fronds-edges"]


def test_no_areas():
    line = replace(shape("a", box(0, 0, 1, 1)), operation=Operation.GUIDE)
    outcome = check_pass(ScoreEdges(), artwork([line]))
    assert [f.code for f in outcome.findings] == ["no-edges"]
    assert edges(outcome) == []


@settings(max_examples=25)
@given(areas(), angles, st.sampled_from([0.0, 0.03, 0.2]), st.booleans())
def test_every_line_lies_inside_at_the_inset_and_moving_commutes(painted, angle, inset, inner):
    step = ScoreEdges(inset=inset, inner_borders=inner)
    art = drawn(painted, angle)
    after = check_pass(step, art, twice=False).artwork
    whole = shapely.union_all([s.geometry for s in art.shapes])
    for line in after.shapes[len(art.shapes) :]:
        points = shapely.points(shapely.get_coordinates(line.geometry))
        assert shapely.distance(points, whole).max() < 1e-5
        if not inner:
            off = shapely.distance(points, whole.boundary)
            assert off.min() > inset - 0.0015
    moved = tuple(
        replace(s, geometry=shapely.transform(s.geometry, lambda p: p + np.array([3, -7])))
        for s in art.shapes
    )
    there = check_pass(step, replace(art, shapes=moved), twice=False).artwork
    assert [s.geometry.length for s in after.shapes] == pytest.approx(
        [s.geometry.length for s in there.shapes], abs=1e-3
    )
