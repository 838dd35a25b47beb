"""Figures of rows, by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest
from shapely import MultiPolygon, box

from preprocess.model.artwork.settings import Layer, Operation, Settings
from preprocess.model.bench.machine import Machine
from preprocess.write.row_figures import row_figures
from tests.labels import fern_label, shape


def test_return_times_by_hand():
    # a square of 9 mm: 9 / 900 s, back at 1800 mm/s, 2 ms to turn: 10 + 5 + 2 ms; then 4.5 mm
    after = fern_label()
    square = shape("s", "dots", Operation.ENGRAVE, MultiPolygon([box(0, 0, 9, 1)]))
    half = shape("h", "dots", Operation.ENGRAVE, MultiPolygon([box(0, 5, 4.5, 6)]))
    machine = Machine(turnaround=2e-3, fly_back=1800.0)
    both = row_figures(replace(after, shapes=(square, half)), machine)["dots"]["return_s"]
    assert both == pytest.approx({"min": 9.5e-3, "median": (9.5e-3 + 17e-3) / 2, "max": 17e-3})
    alone = shape("r", "dots", Operation.ENGRAVE, MultiPolygon([box(0, 0, 9, 0.1)]))
    assert row_figures(replace(after, shapes=(alone,)), machine)["dots"]["return_s"] is None
    slow = Settings(power=0.5, pitch=0.1)
    layers = (Layer(name="dots", operation=None, settings={Operation.ENGRAVE: slow}),)
    untimed = row_figures(replace(after, shapes=(square,), layers=layers), machine)
    assert untimed["dots"]["return_s"] is None
    assert untimed["dots"]["lit"] == 10
