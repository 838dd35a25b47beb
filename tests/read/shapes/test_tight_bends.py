"""Strokes of curves that turn tightly: round about the bend, as GEOS widens a dense polyline."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from preprocess.geometry.lines.stroking import outline_stroke
from preprocess.model.options.reading import ReadingOptions
from preprocess.read.reader import read

BENDS = {
    "hook of 1 µm": ((5.896, 13.245), (6.19, 18.967), (5.579, 17.012), (6.378, 12.15)),
    "cusp": ((5, 5), (15, 15), (5, 15), (15, 5)),
    "loop of 40 µm": ((5, 5), (15.2, 15), (4.8, 15), (15, 5)),
}


def dense(curve):
    t = np.linspace(0, 1, 20_001)[:, None]
    a, b, c, d = np.array(curve, dtype=float)
    return (1 - t) ** 3 * a + 3 * (1 - t) ** 2 * t * b + 3 * (1 - t) * t**2 * c + t**3 * d


def painted(data, width):
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="40mm" viewBox="0 0 40 40">'
        f'<path fill="none" stroke="#205030" stroke-width="{width}" d="{data}"/></svg>'
    )
    (tendril,) = read(svg.encode(), "label.svg", ReadingOptions()).artwork.shapes
    return outline_stroke(tendril.geometry, tendril.stroke), tendril.geometry


@pytest.mark.parametrize("width", [0.3, 1.2])
@pytest.mark.parametrize("bend", BENDS)
def test_a_bend_within_a_curve_is_round(bend, width):
    start, *others = BENDS[bend]
    data = "M{} {} C".format(*start) + " ".join(f"{x} {y}" for x, y in others)
    area, line = painted(data, width)
    swept = shapely.LineString(dense(BENDS[bend])).buffer(width / 2, cap_style="flat", quad_segs=64)
    assert area.hausdorff_distance(swept) < 0.012  # centre line and edge are off by 0.005 each
    assert line.hausdorff_distance(shapely.LineString(dense(BENDS[bend]))) < 0.007


def test_a_corner_between_curves_keeps_its_mitre():
    """Half a mitre of 90 degrees is a square of half the width: 1 mm beyond the corner."""
    area, _ = painted("M10 5 C10 8 10 12 10 15 C13 15 17 15 20 15", 2)
    assert area.area == pytest.approx(2 * 10 + 2 * 10 + 1 - 1)
    assert area.bounds == pytest.approx((9, 5, 20, 16))
