"""solve-power marks levels in the order of their rows where they are bands of rows."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import Polygon, box

from preprocess.marking.heat.index import heat_index
from preprocess.marking.job.plan import plan_of
from preprocess.marking.job.rows import row_spans
from preprocess.model.artwork.output import output_layers
from preprocess.passes.solve_power.solve_power import SolvePower
from preprocess.passes.tag_power.tag_power import PowerBy, TagPower
from tests.passes.benches import shape, written
from tests.passes.row_evenness import row_evenness
from tests.passes.solving import KNOWN, TRIANGLE, UNKNOWN, art, codes, powers, triangle

BUD = Polygon([(15, 4), (24, 29), (6, 29)])
"""A triangle with its tip on top: the widest level is the last of the rows."""


def ids(made):
    return [output.id for output in output_layers(made)]


def cut(levels=3):
    return TagPower(levels=levels, by=PowerBy.HEAT)(art(shape("bud", BUD)), UNKNOWN).artwork


def test_levels_of_a_bud_are_marked_from_its_tip_on():
    made = cut()
    out = SolvePower()(made, UNKNOWN)
    assert ids(made) == ["fronds-1", "fronds-2", "fronds-3"]
    assert ids(out.artwork) == ["fronds-3", "fronds-2", "fronds-1"]
    rows = np.concatenate([row_spans(s).v for s in plan_of(out.artwork, UNKNOWN.machine).steps])
    assert np.diff(rows) == pytest.approx(0.1)
    (told,) = (f for f in out.findings if f.code == "levels-in-row-order")
    assert told.message.endswith("fronds-3, fronds-2, fronds-1")
    assert "levels-out-of-row-order" not in codes(out)


@pytest.mark.parametrize("levels", [3, 5])
def test_rows_vary_less_than_from_the_widest_level_on(levels):
    """Both orders simulated with their own solved powers, the other one as before it was turned."""
    out = SolvePower()(cut(levels), UNKNOWN).artwork
    as_numbered = replace(out, layers=(replace(out.layers[0], order=()),))
    one, other = (
        row_evenness(heat_index(made, UNKNOWN), set(powers(made))) for made in (out, as_numbered)
    )
    assert one.rows_cv < 0.8 * other.rows_cv


def test_the_file_has_the_same_order():
    out = SolvePower()(cut(), UNKNOWN).artwork
    assert list(written(out)) == ids(out)


def test_a_second_run_keeps_order_and_powers():
    once = SolvePower()(cut(), UNKNOWN).artwork
    assert SolvePower()(once, UNKNOWN).artwork == once


def test_levels_that_are_in_order_or_take_turns_stay():
    wide_first = SolvePower()(triangle(area=TRIANGLE), KNOWN)
    kite = Polygon([(30, 8), (46, 20), (30, 32), (14, 20)])
    turns = SolvePower()(triangle(levels=2, area=kite), KNOWN)
    for out in (wide_first, turns):
        assert out.artwork.layers[0].order == ()
        assert ids(out.artwork) == sorted(ids(out.artwork))
        assert "levels-in-row-order" not in codes(out)


def test_areas_without_levels_have_no_order():
    out = SolvePower()(art(shape("bed", box(5, 5, 13, 13))), KNOWN)
    assert out.artwork.layers[0].order == ()
