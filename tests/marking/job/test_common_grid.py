"""Levels of one layer on one grid of rows, against hand calculations."""

from __future__ import annotations

from dataclasses import replace

import pytest
from shapely import box

from preprocess.marking.job.common_grid import on_common_grid, seam_error
from preprocess.marking.job.plan import plan_of
from preprocess.model.bench.machine import FirstRow, Machine
from tests.marking.drawn import artwork, shape


def levels(*tops):
    """Two levels of one layer, each 2 mm high, at a pitch of 0.1 mm."""
    made = [
        shape(box(0, top, 5, top + 2), name=f"bed-{n}", level=n) for n, top in enumerate(tops, 1)
    ]
    return plan_of(artwork(*made, shares=(1.0, 0.8)), Machine()).steps


def test_levels_that_miss_the_grid_begin_on_the_row_before_their_edge():
    first, second = on_common_grid(levels(0.0, 2.03), FirstRow.EDGE)
    assert first.first == pytest.approx(0.0)
    assert second.first == pytest.approx(2.0)
    # rows at 2.0, 2.1 … 4.0 reach the lower edge at 4.03
    assert second.count == 21


def test_levels_on_the_grid_stay_as_they_are():
    groups = levels(0.0, 2.1)
    assert on_common_grid(groups, FirstRow.EDGE) == groups
    assert seam_error(groups) == (0.0, "")


@pytest.mark.parametrize("rule", [FirstRow.HALF_PITCH, FirstRow.PAGE])
def test_other_rules_for_the_first_row_are_left_alone(rule):
    groups = levels(0.0, 2.03)
    assert on_common_grid(groups, rule) == groups


def test_the_seam_is_named_by_its_worst_miss():
    worst, layer = seam_error(levels(0.0, 2.03))
    assert worst == pytest.approx(0.03)
    assert layer == "artwork"


def test_without_levels_there_is_no_seam():
    bare = [replace(g, output=replace(g.output, level=None)) for g in levels(0.0, 2.03)]
    assert seam_error(bare) == (0.0, "")
    assert [g.first for g in on_common_grid(bare, FirstRow.EDGE)] == [g.first for g in bare]
