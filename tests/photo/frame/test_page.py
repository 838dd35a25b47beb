"""The page as it is printed, drawn by another library and read by OpenCV."""

from __future__ import annotations

import io
import re

import cv2
import numpy as np
import pytest
import resvg_py
from PIL import Image

from preprocess.errors import Refusal
from preprocess.photo.frame.layout import FrameLayout, layout_for
from preprocess.photo.frame.page import frame_html, frame_svg
from preprocess.photo.frame.paper import PAPERS, paper_plan

PX = 12


@pytest.fixture(scope="module")
def drawn():
    layout = layout_for((60.0, 40.0))
    plan = paper_plan(layout, "A6")
    svg = frame_svg(layout, plan)
    plain = re.sub(r'width="148mm" height="105mm"', 'width="148" height="105"', svg, count=1)
    png = bytes(resvg_py.svg_to_bytes(svg_string=plain, zoom=PX, background="white"))
    return layout, plan, svg, np.asarray(Image.open(io.BytesIO(png)).convert("L"))


def test_every_marker_reads_as_its_number_where_the_layout_says(drawn) -> None:
    layout, plan, _, image = drawn
    wanted = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    corners, numbers, _ = cv2.aruco.ArucoDetector(wanted).detectMarkers(image)
    assert sorted(numbers.ravel()) == list(range(14))
    for square, number in zip(corners, numbers.ravel(), strict=True):
        at = np.array(plan.corner) + layout.markers[number]
        drawn_at = at + np.array([(0, 0), (10, 0), (10, 10), (0, 10)])
        np.testing.assert_allclose((square[0] + 0.5) / PX, drawn_at, atol=0.12)


def test_greys_are_as_light_as_a_printer_makes_them(drawn) -> None:
    layout, plan, _, image = drawn
    for x, y, reflectance in layout.greys:
        left, top = (round((c + at + 1) * PX) for c, at in zip(plan.corner, (x, y), strict=True))
        code = float(np.median(image[top : top + 2 * PX, left : left + 2 * PX])) / 255
        light = ((code + 0.055) / 1.055) ** 2.4 if code > 0.04045 else code / 12.92
        assert 0.04 + 0.81 * light == pytest.approx(reflectance, abs=0.004)


def test_the_line_to_check_is_50_mm_long(drawn) -> None:
    _, _, svg, image = drawn
    start = re.search(r'd="M([\d.]+) ([\d.]+) h50 ', svg)
    x, y = float(start[1]), float(start[2])
    row = image[round(y * PX), round((x - 2) * PX) : round((x + 52) * PX)] < 128
    ink = np.flatnonzero(row)
    assert (ink[-1] - ink[0] + 1) / PX == pytest.approx(50.0, abs=0.4)


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("window", [(75.0, 55.0), (75.0, 45.0)])
def test_all_lies_on_the_paper_and_the_text_beside_the_frame(paper, window) -> None:
    layout = FrameLayout(*window)
    plan = paper_plan(layout, paper)
    wide, high = layout.size
    assert sorted(plan.sheet) == sorted(PAPERS[paper])
    assert min(plan.corner) >= 5
    assert plan.corner[0] + wide <= plan.sheet[0] - 5
    assert plan.corner[1] + high <= plan.sheet[1] - 5
    left, top, right, _ = plan.text
    assert left >= plan.corner[0] + wide or top >= plan.corner[1] + high
    svg = frame_svg(layout, plan)
    for x, y, size in re.findall(r'<text x="([\d.]+)" y="([\d.]+)"[^>]*font-size="([\d.]+)"', svg):
        assert float(x) < right
        assert float(x) >= left or float(y) > plan.corner[1] + high
        assert float(size) <= float(y) <= plan.sheet[1] - 3


def test_instructions_and_cautions_stand_on_the_page(drawn) -> None:
    layout, plan, svg, _ = drawn
    said = " ".join(re.findall(r">([^<]+)</text>", svg))
    words = frame_html(layout, plan).decode()
    for text in (said, words):
        for part in ("50 mm", "100 %", "flash", "focus", "never says that a setting is safe"):
            assert part in text


def test_a_window_too_large_for_the_paper_names_the_largest() -> None:
    with pytest.raises(Refusal, match="does not fit on A6") as told:
        paper_plan(FrameLayout(150.0, 90.0), "A6")
    wide, high = re.search(r"at most (\d+) × (\d+) mm", told.value.remedy).groups()
    paper_plan(FrameLayout(float(wide), float(high)), "A6")
