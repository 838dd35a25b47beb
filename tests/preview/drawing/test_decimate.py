"""Very fine artwork made coarser for the picture: what stays open, what is drawn closed."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely import MultiPolygon, box

from preprocess.preview.drawing.canvas import Paint
from preprocess.preview.drawing.decimate import POINTS, decimate
from preprocess.preview.drawing.entries import LegendEntry, Section


def entry(geometry):
    paint = Paint(fill="#0072b2", stroke="#000000")
    return LegendEntry(section=Section.LAYER, geometry=geometry, paint=paint, words="seeds")


def test_very_fine_artwork_is_drawn_in_strips() -> None:
    # squares of 0.12 mm, 0.2 mm apart, on half of a plate 60 mm wide: more than a sheet can show
    x, y = (a.ravel() for a in np.meshgrid(10 + 0.2 * np.arange(200), 10 + 0.2 * np.arange(100)))
    seeds = shapely.multipolygons(shapely.box(x, y, x + 0.12, y + 0.12))
    assert shapely.get_num_coordinates(seeds) > POINTS
    plate = entry(MultiPolygon([box(10, 10, 70, 30)]))
    (coarse, same), closed = decimate([entry(seeds), plate], 2.0)
    assert same == plate
    assert closed == 0.2  # twice the gap of 0.08 mm is less on the sheet
    assert shapely.get_num_coordinates(coarse.geometry) < POINTS / 10
    assert coarse.geometry.area == pytest.approx(40 * 20, rel=0.02)
    assert coarse.paint.stroke == "none"


def test_gaps_that_can_be_seen_stay_open_in_strips() -> None:
    x, y = (a.ravel() for a in np.meshgrid(10 + 0.05 * np.arange(120), 10 + 0.05 * np.arange(100)))
    left = shapely.box(x, y, x + 0.03, y + 0.03)
    both = shapely.multipolygons([*left, *shapely.box(x + 30, y, x + 30.03, y + 0.03)])
    (coarse,), closed = decimate([entry(both)], 2.0)
    assert closed
    assert coarse.geometry.area == pytest.approx(2 * 6 * 5, rel=0.1)
    assert not coarse.geometry.intersects(box(17, 5, 39, 20))


def test_fine_lines_become_strips_of_their_own_colour() -> None:
    x, swing = np.linspace(10, 60, 5), np.array([0, 0.1, 0, 0.1, 0])
    ways = [np.column_stack((x, 10 + 0.002 * i + swing)) for i in range(24_000)]
    fine = entry(shapely.multilinestrings(shapely.linestrings(np.array(ways))))
    (coarse,), closed = decimate([fine], 2.0)
    assert closed
    assert coarse.paint.fill == "#000000"
    assert shapely.get_num_coordinates(coarse.geometry) < POINTS
    assert coarse.geometry.area == pytest.approx(50 * 48, rel=0.02)


def test_what_fits_is_drawn_as_it_is() -> None:
    plate = entry(MultiPolygon([box(10, 10, 70, 30)]))
    assert decimate([plate, replace(plate, hidden=True)], 2.0) == ([plate], 0.0)
