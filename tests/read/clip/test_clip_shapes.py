"""Clips given as CSS shapes, on a rectangle of 80 x 40 at (10, 20): areas by hand."""

import math

import pytest

from preprocess.model.artwork.artwork import Drawing
from tests.read.reading import codes, painted, read_sheet

FINE = Drawing(tolerance=1e-3)


def clipped(value, more=""):
    body = f'<rect x="10" y="20" width="80" height="40" style="clip-path:{value}" {more}/>'
    return read_sheet(body, drawing=FINE)


@pytest.mark.parametrize(
    ("value", "area", "box"),
    [
        ("circle()", math.pi * 400, (30, 20, 70, 60)),
        ("circle(closest-side at 20px 50%)", math.pi * 400, (10, 20, 50, 60)),
        ("circle(10px at left top)", math.pi * 25, (10, 20, 20, 30)),
        # 10 % of √((80² + 40²)/2) is √40.
        ("circle(10%)", math.pi * 40, None),
        ("circle(20px at bottom left)", math.pi * 100, (10, 40, 30, 60)),
        ("circle(20px at right)", math.pi * 200, (70, 20, 90, 60)),
        ("ellipse(40px 10px)", math.pi * 400, (10, 30, 90, 50)),
        ("ellipse(50% 50% at center)", math.pi * 800, (10, 20, 90, 60)),
        ("inset(10px)", 60 * 20, (20, 30, 80, 50)),
        ("inset(10px 20px 0 0)", 60 * 30, (10, 30, 70, 60)),
        ("inset(0 round 20px)", 3200 - (4 - math.pi) * 400, (10, 20, 90, 60)),
        ("polygon(evenodd, 0 0, 100% 0, 100% 100%, 0 100%)", 3200, (10, 20, 90, 60)),
        ("circle(40px) view-box", None, (10, 20, 90, 60)),
        ("inset(0) fill-box", 3200, (10, 20, 90, 60)),
    ],
)
def test_shapes(value, area, box):
    reading = clipped(value)
    if area is not None:
        assert painted(reading).area == pytest.approx(area, rel=1e-3)
    if box is not None:
        assert painted(reading).bounds == pytest.approx(box, abs=2e-3)
    assert codes(reading) <= {"draws-nothing"}


def test_a_stroke_widens_the_box():
    """Without a word, percentages refer to the box with its stroke: from 8 to 92 here."""
    reading = clipped("inset(0 50% 0 0)", 'stroke="#000" stroke-width="4"')
    assert painted(reading).bounds == pytest.approx((8, 18, 50, 62))
    (fill, _) = clipped("inset(0 50% 0 0) fill-box", 'stroke="#000"').artwork.shapes
    assert fill.geometry.bounds == (10, 20, 50, 60)


@pytest.mark.parametrize(
    "value",
    ["circle(moth)", "ellipse(3px)", "inset()", "inset(1px 2px 3px 4px 5px)", "polygon(0)",
     "polygon(1px 2px 3px)", "path(M0 0)", "path('M0 0L5 x')", "circle(5px at 1px 2px 3px)",
     "moth(3)"],
)  # fmt: skip
def test_what_cannot_be_read_clips_nothing_and_is_named(value):
    reading = clipped(value)
    assert painted(reading).area == 3200
    assert "bad-value" in codes(reading)
