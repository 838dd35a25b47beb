"""The plots of the row profile: drawn to scale, told apart without hue."""

from __future__ import annotations

import re
from xml.etree import ElementTree as ET

import numpy as np
import pytest
from shapely import MultiPolygon, box
from shapely.affinity import translate

from preprocess.preview.row_profile.profile_plot import (
    BEFORE_PAINT,
    HIGH,
    LEFT,
    RIGHT,
    WIDE,
    profile_plots,
)
from preprocess.preview.row_profile.profile_rows import layer_rows
from preprocess.write.svg.layer_colours import contrast_ratio
from tests.preview.row_profile.seed_bed import MACHINE, SEEDS, bed

SVG = "{http://www.w3.org/2000/svg}"


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
    span, lit, returns = profile_plots(rows)
    assert ticks(span)["below"] == [0, 5, 10, 15, 20]
    assert drawn(span, "after")[:, 0].max() == pytest.approx(WIDE - RIGHT, abs=0.01)
    x = LEFT + (WIDE - LEFT - RIGHT) * 14 / 15
    assert ticks(lit)["below"] == [0, 5, 10, 15]
    assert drawn(lit, "before")[:, 0].max() == pytest.approx(x, abs=0.01)
    assert ticks(returns)["below"] == [0, 20, 40, 60, 80]
    assert ticks(span)["left"] == [5, 10, 15]


def test_before_and_after_differ_in_more_than_hue() -> None:
    (rows,) = layer_rows(bed(SEEDS), bed(translate(SEEDS, 2)), MACHINE)
    root = ET.fromstring(profile_plots(rows)[0])
    before, after = (root.find(f"{SVG}g[@id='{name}']/{SVG}path") for name in ("before", "after"))
    assert before.get("stroke-dasharray")
    assert after.get("stroke-dasharray") is None
    assert before.get("fill") == "none"
    assert after.get("fill") != "none"
    assert contrast_ratio(BEFORE_PAINT.stroke) > 4.5
    assert contrast_ratio(after.get("stroke")) > 4.5


def test_rows_whose_neighbours_come_in_another_sweep_are_told() -> None:
    """One row alone has a speed, and no neighbour to return to."""
    thin = MultiPolygon([box(5, 5, 15, 5.5)])
    (rows,) = layer_rows(bed(thin), bed(thin), MACHINE)
    assert len(rows.after) == 1
    words = [t.text for t in ET.fromstring(profile_plots(rows)[2]).iter(f"{SVG}text")]
    assert "no neighbours in one sweep" in words
