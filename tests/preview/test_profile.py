"""The row profile against rows that can be worked out by hand."""

from __future__ import annotations

import re
from dataclasses import replace
from xml.etree import ElementTree as ET

import numpy as np
import pytest
from shapely import MultiPolygon, box
from shapely.affinity import translate

from preprocess.model.artwork.artwork import Artwork, Page
from preprocess.model.artwork.settings import Layer, Operation, Settings
from preprocess.model.bench.machine import Machine
from preprocess.preview.row_profile.bands import bands
from preprocess.preview.row_profile.plot import BEFORE, HIGH, LEFT, RIGHT, WIDE, plots
from preprocess.preview.row_profile.rows import layer_rows
from preprocess.write.svg.colours import contrast
from tests.labels import shape

SVG = "{http://www.w3.org/2000/svg}"
MACHINE = Machine(turnaround=0.002, fly_back=1000.0)
ENGRAVE = Settings(power=0.5, speed=500.0, pitch=0.5, angle=0.0)
SEEDS = MultiPolygon([box(10, 5, 14, 15), box(20, 5, 30, 10)])
"""Rows from 5 to 10: 14 of 20 mm are lit; from 10 to 15 one seed of 4 mm."""


def bed(
    area: MultiPolygon, settings: Settings = ENGRAVE, bars: MultiPolygon | None = None
) -> Artwork:
    seeds = replace(shape("seeds", "seeds", Operation.ENGRAVE, area), bars=bars)
    layer = Layer(name="seeds", operation=None, settings={Operation.ENGRAVE: settings})
    return Artwork(page=Page(width=40.0, height=20.0), shapes=(seeds,), layers=(layer,))


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
    assert "not known: no speed is set" in plots(rows)[2]


def test_upright_rows_are_counted_from_the_first() -> None:
    upright = bed(SEEDS, replace(ENGRAVE, angle=90.0))
    (rows,) = layer_rows(upright, upright, MACHINE)
    assert rows.origin == "mm across the rows, from the first"
    assert rows.after.at.min() == pytest.approx(0.0)
    assert rows.after.span.max() == pytest.approx(10.0)


def test_bands_reach_from_the_smallest_to_the_largest() -> None:
    at = np.array([0.0, 0.1, 0.2, 0.9, 1.1, 5.0])
    found = bands(at, np.array([3.0, 1.0, 2.0, 7.0, np.nan, 4.0]), 0.0, 0.5)
    assert [(band.top, band.least.tolist(), band.most.tolist()) for band in found] == [
        (0.0, [1.0, 7.0], [3.0, 7.0]),
        (5.0, [4.0], [4.0]),
    ]
    assert found[1].outline() == [(4.0, 5.0), (4.0, 5.5), (4.0, 5.5), (4.0, 5.0)]


def drawn(svg: str, name: str) -> np.ndarray:
    root = ET.fromstring(svg)
    data = root.find(f"{SVG}g[@id='{name}']/{SVG}path").get("d")
    return np.array(re.findall(r"-?[\d.]+", data), dtype=float).reshape(-1, 2)


def ticks(svg: str) -> dict[str, list[float]]:
    """Numbers below the plot, by their place; those on its left."""
    texts = list(ET.fromstring(svg).iter(f"{SVG}text"))
    left = [t.text for t in texts if t.get("text-anchor") == "end"]
    others = (t for t in texts if t.get("text-anchor") != "end")
    below = [t.text for t in others if float(t.get("y")) > HIGH - 5]
    return {"below": [float(v) for v in below], "left": [float(v) for v in left]}


def test_the_plot_shows_the_rows_to_scale() -> None:
    (rows,) = layer_rows(bed(SEEDS), bed(SEEDS), MACHINE)
    span, lit, returns = plots(rows)
    assert ticks(span)["below"] == [0, 5, 10, 15, 20]
    assert drawn(span, "after")[:, 0].max() == pytest.approx(WIDE - RIGHT, abs=0.01)
    x = LEFT + (WIDE - LEFT - RIGHT) * 14 / 15
    assert ticks(lit)["below"] == [0, 5, 10, 15]
    assert drawn(lit, "before")[:, 0].max() == pytest.approx(x, abs=0.01)
    assert ticks(returns)["below"] == [0, 20, 40, 60, 80]
    assert ticks(span)["left"] == [5, 10, 15]


def test_before_and_after_differ_in_more_than_hue() -> None:
    (rows,) = layer_rows(bed(SEEDS), bed(translate(SEEDS, 2)), MACHINE)
    root = ET.fromstring(plots(rows)[0])
    before, after = (root.find(f"{SVG}g[@id='{name}']/{SVG}path") for name in ("before", "after"))
    assert before.get("stroke-dasharray")
    assert after.get("stroke-dasharray") is None
    assert before.get("fill") == "none"
    assert after.get("fill") != "none"
    assert contrast(BEFORE.stroke) > 4.5
    assert contrast(after.get("stroke")) > 4.5
