"""solve-power: only powers change, the same again each time, and every level is told."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from shapely import Polygon, box

from preprocess.engine.facts import POWERED
from preprocess.engine.ledger import imbalances, totals
from preprocess.marking.heat.index import heat_index
from preprocess.marking.heat.medians import layer_medians
from preprocess.model.artwork.artwork import Page
from preprocess.model.artwork.output import output_layers
from preprocess.model.artwork.settings import Operation
from preprocess.passes.solve_power.solve_power import SolvePower
from preprocess.passes.tag_power.tag_power import TagPower
from tests.passes.benches import artwork, shape
from tests.passes.solving import (
    KNOWN,
    ONE,
    TRIANGLE,
    art,
    codes,
    named,
    powers,
    triangle,
)

# what stays as it is


def test_only_powers_change():
    made = triangle()
    out = SolvePower()(made, KNOWN)
    assert out.changes == ()
    assert imbalances(totals(made), (), totals(out.artwork)) == ()
    assert out.artwork.shapes == made.shapes
    assert out.artwork.page == made.page
    assert out.artwork.layers[0].settings == made.layers[0].settings
    assert POWERED.holds(out.artwork, "fronds")
    assert not POWERED.holds(made, "fronds")


def test_the_same_comes_out_again_and_a_second_run_changes_nothing():
    once, again = (SolvePower(strength=0.8)(triangle(), KNOWN) for _ in range(2))
    assert once == again
    twice = SolvePower(strength=0.8)(once.artwork, KNOWN)
    assert twice.artwork == once.artwork


def test_powers_that_were_given_make_way():
    made = TagPower(levels=3, powers=(1.0, 0.5, 0.2))(art(shape("leaf", TRIANGLE)), KNOWN).artwork
    out = SolvePower()(made, KNOWN)
    assert out.artwork == SolvePower()(triangle(), KNOWN).artwork
    assert codes(out)[0] == "powers-solved-anew"
    assert "fronds-2, fronds-3" in out.findings[0].message


def test_layers_that_are_not_chosen_keep_their_powers():
    bed, stem = box(4, 10, 20, 16), box(50, 10, 51.5, 16)
    made = art(named("bed", bed, "bed"), named("one", stem, "stem"))
    out = SolvePower(only=ONE)(made, KNOWN).artwork
    assert powers(out)["bed"] == 0.3
    assert powers(out)["stem"] != 0.3
    assert powers(SolvePower(except_=ONE)(made, KNOWN).artwork)["stem"] == 0.3


def test_lines_keep_their_power():
    made = art(shape("bed", box(5, 5, 13, 13)))
    edge = replace(shape("edge", box(20, 5, 30, 9)), operation=Operation.SCORE)
    made = replace(made, shapes=(*made.shapes, edge))
    settings = {**made.layers[0].settings, Operation.SCORE: made.layers[0].of(Operation.ENGRAVE)}
    made = replace(made, layers=(replace(made.layers[0], settings=settings),))
    found = powers(SolvePower()(made, KNOWN).artwork)
    assert found == {"fronds": pytest.approx(0.5, rel=0.001), "fronds-score": 0.3}


def test_what_warms_no_part_keeps_its_power_and_is_named():
    bed, far = shape("bed", box(5, 5, 13, 13), "bed"), shape("far", box(30, 5, 34, 9), "far")
    out = SolvePower()(art(bed, far, parts=[box(3, 3, 15, 15)]), KNOWN)
    assert powers(out.artwork)["far"] == 0.3
    assert "far keeps its power: it lies on no part" in {f.message for f in out.findings}
    assert POWERED.holds(out.artwork, "far")


def test_nothing_engraved_nothing_solved():
    empty = replace(artwork([]), page=Page(width=5, height=5))
    out = SolvePower()(empty, KNOWN)
    assert out.artwork == empty
    assert codes(out) == ["no-rows"]


# what is told


def test_each_level_is_told_with_power_and_index_before_and_after():
    made = triangle()
    out = SolvePower()(made, KNOWN)
    was, now = (layer_medians(heat_index(a, KNOWN)) for a in (made, out.artwork))
    lines = [f.message for f in out.findings if f.code == "power-solved"]
    assert lines == [
        f"{name}: power 30 % → {100 * power:.4g} %, predicted index {was[name]:.3f} → "
        f"{now[name]:.3f}"
        for name, power in powers(out.artwork).items()
    ]
    assert "evenness" in codes(out)
    assert "levels-out-of-row-order" not in codes(out)


def mean_of(image, rows, mm):
    """Mean index of three rows over one millimetre; nan where less than half of it is lit."""
    here = np.floor(image.u + 1e-9) == mm
    lit, share = image.lit[rows, here], image.share[rows, here]
    if not lit.any() or image.cell * share[lit].sum() < 0.5 * 0.3:
        return np.nan
    return np.average(image.index[rows, here][lit], weights=share[lit])


def test_the_step_where_levels_meet_is_told_in_per_cent():
    out = SolvePower()(triangle(), KNOWN)
    (told,) = [finding for finding in out.findings if finding.code == "levels-step"]
    assert told.layer == "fronds"
    percent = float(re.search(r"a step of ([\d.]+) %", told.message)[1])
    levels = {image.output: image for image in heat_index(out.artwork, KNOWN).images}
    steps = [
        abs(mean_of(below, slice(0, 3), mm) / mean_of(above, slice(-3, None), mm) - 1)
        for above, below in pairwise(levels[name] for name in sorted(levels))
        for mm in range(150)
    ]
    assert percent == pytest.approx(100 * np.nanmax(steps), abs=0.51)


def test_levels_that_do_not_follow_one_another_are_named_and_left_so():
    """Both ends of a leaf are narrow: level 2 begins above level 1."""
    kite = Polygon([(30, 8), (46, 20), (30, 32), (14, 20)])
    out = SolvePower()(triangle(levels=2, area=kite), KNOWN)
    told = [f for f in out.findings if f.code == "levels-out-of-row-order"]
    assert len(told) == 1
    assert told[0].message.startswith("fronds-2 begins ")
    assert [o.id for o in output_layers(out.artwork)] == ["fronds-1", "fronds-2"]
