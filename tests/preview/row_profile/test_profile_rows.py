"""Rows of a layer against those of two seeds, by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import MultiPolygon, box

from preprocess.preview.row_profile.profile_plot import profile_plots
from preprocess.preview.row_profile.profile_rows import layer_rows
from tests.preview.row_profile.seed_bed import ENGRAVE, MACHINE, SEEDS, bed


def test_rows_of_two_seeds() -> None:
    (rows,) = layer_rows(bed(SEEDS), bed(SEEDS), MACHINE)
    assert rows.layer == "seeds"
    assert rows.after.at.tolist() == pytest.approx(np.arange(5.0, 15.0, 0.5))
    assert rows.after.span.tolist() == pytest.approx([20.0] * 10 + [4.0] * 10)
    assert rows.after.lit.tolist() == pytest.approx([14.0] * 10 + [4.0] * 10)
    # 20 mm at 500 mm/s, 2 ms of turning, 20 mm back at 1000 mm/s; 4 mm alike
    assert rows.after.returns.tolist() == pytest.approx([0.062] * 10 + [0.014] * 10)


def test_bars_are_in_the_rows_after() -> None:
    bars = MultiPolygon([box(2, 5, 3, 15), box(37, 5, 38, 15)])
    (rows,) = layer_rows(bed(SEEDS), bed(SEEDS, bars=bars), MACHINE)
    assert set(rows.before.span) == {20.0, 4.0}
    assert rows.after.span.tolist() == pytest.approx([36.0] * 20)
    assert rows.after.returns.tolist() == pytest.approx([0.110] * 20)


def test_without_a_speed_there_are_no_return_times() -> None:
    slow = bed(SEEDS, replace(ENGRAVE, speed=None))
    (rows,) = layer_rows(slow, slow, MACHINE)
    assert np.isnan(rows.after.returns).all()
    assert "not known: no speed is set" in profile_plots(rows)[2]


def test_upright_rows_are_counted_from_the_first() -> None:
    upright = bed(SEEDS, replace(ENGRAVE, angle=90.0))
    (rows,) = layer_rows(upright, upright, MACHINE)
    assert rows.origin == "mm across the rows, from the first"
    assert rows.after.at.min() == pytest.approx(0.0)
    assert rows.after.span.max() == pytest.approx(10.0)
