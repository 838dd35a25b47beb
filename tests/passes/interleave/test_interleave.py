"""Rounds on colours, rows of our own, refusals and findings of interleave."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import shapely
from shapely import MultiPolygon, box

from preprocess.engine.ledger import imbalances, totals
from preprocess.errors import Refusal
from preprocess.geometry.rows.rounds import colours_of_rounds, round_order, usual_rounds
from preprocess.marking.heat.index import heat_index
from preprocess.marking.job.plan import plan_of
from preprocess.marking.job.schedule import schedule_of
from preprocess.model.artwork.output import output_layers
from preprocess.model.artwork.settings import Direction, Operation, Settings
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.machine import Machine, RasterGroups
from preprocess.passes.interleave.interleave import Form, Interleave
from tests.passes.benches import artwork, leaf, row_pieces, shape

GALVO = Machine(spot=0.08, turnaround=1.2e-3, fly_back=2500.0, layer_pause=0.3)
BENCH = Bench(machine=GALVO)
WHOLE = Bench(machine=replace(GALVO, raster_groups=RasterGroups.EACH_COLOUR))
PANEL = shape("panel", box(5, 4, 15, 6.4))


def scored(art):
    layers = (
        replace(x, settings={**x.settings, Operation.SCORE: Settings(power=0.5, speed=400.0)})
        for x in art.layers
    )
    return replace(art, layers=tuple(layers))


def run(made, *shapes, bench=BENCH, **more):
    art = scored(artwork(shapes, **more))
    outcome = made(art, bench)
    assert imbalances(totals(art), outcome.changes, totals(outcome.artwork)) == ()
    return outcome


def own_rows(**given):
    return Interleave(form=Form.OWN_ROWS, inset=0.0, **given)


def codes(outcome):
    return [finding.code for finding in outcome.findings]


def test_bits_are_reversed():
    assert round_order(2) == (0, 1)
    assert round_order(4) == (0, 2, 1, 3)
    assert round_order(6) == (0, 3, 1, 4, 2, 5)
    assert round_order(16) == (0, 8, 4, 12, 2, 10, 6, 14, 1, 9, 5, 13, 3, 11, 7, 15)


def test_of_eight_rounds_those_that_follow_one_another_lie_three_rows_apart():
    """Judged better than reversed bits by the second simulator: docs/project/evenness.md."""
    order = round_order(8)
    assert sorted(order) == list(range(8))
    assert {(after - before) % 8 for before, after in pairwise(order)} == {5}


@pytest.mark.parametrize(("pitch", "rounds"), [(0.15, 3), (0.1, 4), (0.05, 8), (0.3, 2)])
def test_rows_of_a_round_are_about_four_tenths_apart(pitch, rounds):
    assert usual_rounds(pitch) == rounds


def test_rounds_that_follow_one_another_share_a_colour():
    assert colours_of_rounds(4, 2) == (0, 0, 1, 1)
    assert colours_of_rounds(4, 3) == (0, 1, 2, 2)
    assert colours_of_rounds(8, 4) == (0, 0, 1, 1, 2, 2, 3, 3)
    assert colours_of_rounds(8, 8) == (0, 1, 2, 3, 4, 5, 6, 7)


def test_own_rows_are_lines_round_by_round():
    """Rows 1, 5, 9 … and, as it lies on an edge as well, row 24 belong to the first round."""
    shapes = run(own_rows(), PANEL).artwork.shapes
    assert [s.id for s in shapes] == [f"fronds-round-{n}" for n in (1, 2, 3, 4)]
    rows = [[*range(0, 24, 4), 23], range(2, 24, 4), range(1, 24, 4), range(3, 23, 4)]
    for numbers, one in zip(rows, shapes, strict=True):
        ends = shapely.get_coordinates(one.geometry).reshape(-1, 2, 2)
        assert ends[:, 0, 1] == pytest.approx(4 + 0.1 * np.array(numbers))
        assert one.operation is Operation.SCORE


def test_each_round_of_two_way_rows_begins_to_the_right_and_alternates():
    for one in run(own_rows(direction=Direction.TWO_WAY), PANEL).artwork.shapes:
        starts = shapely.get_coordinates(one.geometry).reshape(-1, 2, 2)[:, 0, 0]
        assert starts.tolist() == ([5, 15] * 4)[: len(starts)]


def test_own_rows_together_are_those_that_long_lines_cut():
    blade = leaf(20, 20, 24, 6, turn=0.8)
    shapes = run(own_rows(), shape("blade", blade), angle=33.0).artwork.shapes
    length = sum(s.geometry.length for s in shapes)
    sin, cos = np.sin(np.radians(33)), np.cos(np.radians(33))
    top = min(x * sin + y * cos for x, y in blade.exterior.coords)
    rows = [row_pieces(MultiPolygon([blade]), 33.0, top + 0.1 * n) for n in range(260)]
    assert length == pytest.approx(sum(np.ptp(r, axis=1).sum() for r in rows if len(r)), abs=1e-3)


@pytest.mark.parametrize("colours", [1, 2, 4])
def test_all_rounds_of_own_rows_count_their_area_once(colours):
    """Also of rounds whose rows lie too far apart to heat one another by themselves."""
    after = run(own_rows(rounds=8, colours=colours), PANEL).artwork
    images = heat_index(after, BENCH).images
    assert len(images) == 8
    assert sum(image.areas.sum() for image in images) == pytest.approx(10 * 2.4, rel=0.01)


def test_small_shapes_of_few_rows_a_round_keep_their_heat():
    dots = [shape(f"dot{n}", shapely.Point(6 + 5 * n, 6).buffer(1)) for n in range(3)]
    images = heat_index(run(own_rows(), *dots).artwork, BENCH).images
    area = sum(image.areas.sum() for image in images)
    assert area == pytest.approx(3 * np.pi, rel=0.03)


def test_colours_are_layers_of_the_output_in_marking_order():
    after = run(Interleave(colours=2, powers=(1.04, 0.96)), PANEL).artwork
    outputs = output_layers(after)
    assert [o.id for o in outputs] == ["fronds-1", "fronds-2"]
    assert [len(o.shapes) for o in outputs] == [2, 2]
    assert [o.settings.power for o in outputs] == pytest.approx([0.52, 0.48])


def test_rounds_of_one_colour_are_swept_one_after_another():
    """The upper edge, row 4.0, comes last: the plastic is warm by then."""
    after = run(Interleave(colours=1), PANEL).artwork
    steps = plan_of(after, GALVO).steps
    assert [step.output.id for step in steps] == ["fronds"] * 4
    first = [schedule_of(plan_of(after, GALVO), GALVO).visits[n].timed.spans.v[0] for n in range(4)]
    assert first == pytest.approx([4.1, 4.3, 4.2, 4.0], abs=1e-3)


def test_where_each_colour_is_swept_as_a_whole_there_are_as_many_rounds_as_colours():
    after = run(Interleave(colours=3), PANEL, bench=WHOLE).artwork
    assert [s.level for s in after.shapes] == [1, 2, 3]
    assert len(run(own_rows(colours=1), PANEL, bench=WHOLE).artwork.shapes) == 4
    with pytest.raises(Refusal, match="one colour is one round"):
        run(Interleave(colours=1), PANEL, bench=WHOLE)


def test_rows_of_a_round_that_stay_near_are_told():
    near = run(Interleave(), PANEL, bench=WHOLE, pitch=0.05)
    assert "rounds-too-near" in codes(near)
    told = next(f for f in near.findings if f.code == "rounds-too-near")
    assert "0.2 mm apart" in told.message
    assert "colours: 8" in told.remedy
    assert "rounds-too-near" not in codes(run(Interleave(), PANEL, pitch=0.05))


def test_a_second_run_changes_nothing():
    once = run(Interleave(), PANEL).artwork
    again = Interleave()(once, BENCH)
    assert again.artwork == once
    assert codes(again) == ["interleaved-already"]


@pytest.mark.parametrize(
    ("made", "drawn", "words"),
    [
        (Interleave(), replace(PANEL, level=1), "has a level already"),
        (own_rows(), replace(PANEL, bars=MultiPolygon([box(20, 4, 22, 6)])), "bars beside"),
        (Interleave(powers=(1.0, 0.9)), PANEL, "4 colours but 2 powers"),
    ],
)
def test_refusals(made, drawn, words):
    with pytest.raises(Refusal, match=words):
        run(made, drawn)


def test_a_piece_without_a_row_is_named():
    thin = shape("thin", box(20, 4.03, 30, 4.06))
    outcome = run(own_rows(), PANEL, thin)
    told = next(f for f in outcome.findings if f.code == "piece-without-row")
    assert told.elements == ("thin",)
    assert "0.3 mm²" in told.message


def test_too_few_decimals_for_the_pitch_are_told():
    made = artwork([PANEL])
    coarse = replace(made, drawing=replace(made.drawing, decimals=2))
    told = next(f for f in Interleave()(coarse, BENCH).findings if f.code == "too-few-decimals")
    assert "2 decimals of a millimetre are too few for rows 0.1 mm apart" in told.message
    own = own_rows()(scored(coarse), BENCH)
    assert "too-few-decimals" not in codes(own)


def test_powers_are_those_that_the_machine_can_be_set_to():
    """Of 50 %, 96.5 % is 48.25 % and 103.3 % is 51.65 %; 210 % is beyond the range and stays."""
    after = run(Interleave(colours=3, powers=(1.033, 0.965, 2.1)), PANEL).artwork
    powers = [one.settings.power for one in output_layers(after)]
    assert powers == pytest.approx([0.52, 0.48, 1.05])


def test_the_order_of_rows_is_told_in_a_sentence():
    words = [next(iter(run(Interleave(rounds=k), PANEL).findings)).message for k in (2, 3, 4)]
    assert [one.partition(": ")[2] for one in words] == [
        "row 1 and every 2nd row after it first, then the same from row 2",
        "row 1 and every 3rd row after it first, then the same from rows 2 and 3",
        "row 1 and every 4th row after it first, then the same from rows 3, 2 and 4",
    ]
