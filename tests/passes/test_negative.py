"""negative: areas by hand, and motif and ground tile the outline on any artwork."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from shapely import MultiLineString, MultiPolygon, Point, box

from preprocess.engine.facts import ZONED
from preprocess.errors import Refusal
from preprocess.model.artwork.settings import Operation
from preprocess.model.artwork.source import Selection
from preprocess.model.bench.bench import Bench
from preprocess.passes.negative import Negative
from preprocess.testing import check_pass
from tests.passes.benches import artwork, shape
from tests.passes.strategies import angles, areas, drawn

PART = box(0, 0, 30, 20)


def labelled(name, area, **more):
    one = shape(name, area, **more)
    return replace(one, sources=(replace(one.sources[0], label=name),))


def run(step, *shapes, parts=(PART,), **more):
    return check_pass(step, artwork(shapes, parts, **more), twice=False)


def ground(outcome):
    (found,) = [s for s in outcome.artwork.shapes if s.id.endswith("-ground")]
    return found


def test_a_disc_becomes_a_hole_in_a_rounded_part():
    """Inside a corner of radius 5 a margin of 1 leaves one of radius 4."""
    part = box(5, 5, 25, 15).buffer(5, quad_segs=200)
    seed = Point(15, 10).buffer(3, quad_segs=200)
    outcome = run(Negative(margin=1.0), shape("seed", seed), parts=[part])
    whole = 20 * 10 + 2 * 4 * (20 + 10) + math.pi * 16
    assert ground(outcome).geometry.area == pytest.approx(whole - math.pi * 9, abs=0.03)


def test_counters_become_islands():
    ring = box(5, 5, 15, 15) - box(8, 8, 12, 12)
    found = ground(run(Negative(), shape("o", ring))).geometry
    assert sorted(p.area for p in found.geoms) == [16, 500]


def test_the_frame_goes_if_it_is_engraved_and_stays_if_it_is_a_line():
    frame, leaf = labelled("frame", box(2, 2, 20, 12)), shape("leaf", box(4, 4, 8, 8))
    step = Negative(within=Selection(label="frame"))
    filled = run(step, frame, leaf)
    assert [s.id for s in filled.artwork.shapes] == ["fronds-ground"]
    assert ground(filled).geometry.area == 180 - 16
    ring = MultiLineString([box(2, 2, 20, 12).exterior])
    drawn_ = run(step, replace(frame, geometry=ring, operation=Operation.SCORE), leaf)
    assert [s.id for s in drawn_.artwork.shapes] == ["frame", "fronds-ground"]
    assert ground(drawn_).geometry.area == 180 - 16


def test_areas_that_stay_are_not_marked_twice():
    step = Negative(except_=Selection(label="stays"))
    outcome = run(step, labelled("stays", box(0, 0, 10, 10)), shape("leaf", box(12, 4, 18, 8)))
    assert ground(outcome).geometry.area == 600 - 100 - 24
    assert [s.id for s in outcome.artwork.shapes] == ["stays", "fronds-ground"]


def test_several_layers_of_motif_make_one_ground_and_levels_go():
    one = shape("a", box(1, 1, 4, 4), level=1)
    outcome = run(Negative(), one, shape("b", box(8, 8, 12, 12), "seeds"), shares=(1.0,))
    (found,) = outcome.artwork.shapes
    assert (found.layer, found.level, found.geometry.area) == ("fronds", None, 600 - 9 - 16)
    assert ZONED not in Negative.contract.keeps


def test_what_cannot_be_seen_is_told_with_its_place():
    outcome = run(Negative(), shape("pod", box(28, 5, 34, 9)))
    (told,) = [f for f in outcome.findings if f.code == "motif-beyond-outline"]
    assert box(30, 5, 34, 9).contains(Point(told.spot))
    all_over = run(Negative(), shape("pod", box(-1, -1, 31, 21)))
    assert all_over.artwork.shapes == ()
    assert all_over.findings[0].code == "no-ground"


def test_there_must_be_an_outline():
    leaf = shape("leaf", box(1, 1, 4, 4))
    with pytest.raises(Refusal, match="outline of the ground is missing"):
        run(Negative(), leaf, parts=())
    with pytest.raises(Refusal, match="margin of 10 mm leaves nothing"):
        run(Negative(margin=10.0), leaf)
    line = MultiLineString([[(0, 0), (4, 4)]])
    stem = replace(labelled("stem", box(0, 0, 1, 1)), geometry=line, operation=Operation.SCORE)
    with pytest.raises(Refusal, match="encloses nothing"):
        run(Negative(within=Selection(label="stem")), leaf, stem)
    assert Negative()(artwork([]), Bench()).findings[0].code == "no-motif"


@settings(max_examples=25)
@given(areas(), angles)
def test_motif_and_ground_tile_the_outline_and_twice_is_the_motif(painted, angle):
    part = MultiPolygon([box(9, 9, 31, 31)])
    art = replace(drawn(painted, angle), parts=(part,))
    once = check_pass(Negative(), art, twice=False).artwork
    motif = shapely.union_all([s.geometry for s in art.shapes])
    (found,) = once.shapes
    slack = 4e-6 * (motif.length + 100)
    assert found.geometry.intersection(motif).area < slack
    assert (
        found.geometry.union(motif).union(part).difference(part).area
        <= motif.difference(part).area + slack
    )
    assert found.geometry.area == pytest.approx(
        part.area - motif.intersection(part).area, abs=slack
    )
    back = check_pass(Negative(), once, twice=False).artwork.shapes[0].geometry
    assert back.symmetric_difference(motif.intersection(part)).area < 2 * slack


def test_moving_the_drawing_moves_the_ground():
    seed = Point(15, 10).buffer(3)
    here = ground(run(Negative(margin=0.7), shape("seed", seed))).geometry
    move = lambda g: shapely.transform(g, lambda p: p + np.array([12.5, -3.25]))
    there = ground(run(Negative(margin=0.7), shape("seed", move(seed)), parts=[move(PART)]))
    assert there.geometry.symmetric_difference(move(here)).area < 1e-9
