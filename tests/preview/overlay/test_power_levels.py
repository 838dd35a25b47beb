"""Images of greys in overlay, sheet and placing: levels by hand, pixels by resvg."""

from __future__ import annotations

import base64
import io
import re

import numpy as np
import pytest
import resvg_py
from lxml import etree, html
from PIL import Image

from preprocess.pipeline import convert, make_overlay, make_sheet
from preprocess.preview.overlay.power_levels import power_levels, scale_entries
from preprocess.recipe.load import load_recipe
from preprocess.write.placing import offset

BED = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="30mm" height="15mm" viewBox="0 0 30 15">'
    '<rect id="label" x="1" y="1" width="28" height="13" fill="none" stroke="#00ff00"/>'
    '<path id="bed" d="M5 4 H25 V8 H5 Z"/></svg>'
)
RECIPE = """recipe: 1
design: bed.svg
machine: {name: bench galvo, turnaround: 1.2 ms, grey: {from: 10 %, to: 100 %, gamma: 1}}
part: {outline: "#label"}
settings:
  engrave: {power: 55 %, speed: 900 mm/s, pitch: 0.1 mm}
passes: [merge, {grey: {images: 4, solve: SOLVE}}]
"""


def converted(solve):
    loaded = load_recipe(None, RECIPE.replace("SOLVE", solve), "bed.svg")
    return loaded, convert(loaded, BED.encode(), "bed.svg")


@pytest.fixture(scope="module")
def solved():
    return converted("true")


def machine_of(result):
    return result.bench.machine_or_default


def test_levels_divide_the_range_evenly_and_hold_the_whole_area(solved):
    _, result = solved
    (levels,) = power_levels(result.after, machine_of(result))
    greys = np.concatenate([np.frombuffer(s.grey.greys, np.uint8) for s in result.after.shapes])
    # 10 % at grey 254, 100 % at 0, straight
    powers = 0.1 + 0.9 * (254 - greys[greys < 255].astype(float)) / 254
    assert levels.ends == pytest.approx(np.linspace(powers.min(), powers.max(), 7))
    counts = np.histogram(powers, np.linspace(powers.min() - 1e-9, powers.max() + 1e-9, 7))[0]
    assert levels.areas == pytest.approx(counts * 0.01)
    assert levels.areas.sum() == pytest.approx(sum(s.geometry.area for s in result.after.shapes))


def test_even_greys_are_one_level():
    _, result = converted("false")
    entries = scale_entries(power_levels(result.after, machine_of(result)))
    assert [entry.words for entry in entries] == [
        "edges of artwork became cells of 0.1 × 0.1 mm",
        "artwork: 55 %",
    ]


def test_the_picture_shows_each_cell_in_the_grey_of_its_level(solved):
    _, result = solved
    svg = make_overlay(result, "bed").decode()
    root = etree.fromstring(svg.encode())
    wide, high = (float(root.get(name).removesuffix("mm")) for name in ("width", "height"))
    root.set("width", f"{20 * wide:.0f}")
    root.set("height", f"{20 * high:.0f}")
    png = bytes(resvg_py.svg_to_bytes(svg_string=etree.tostring(root).decode()))
    shown = np.asarray(Image.open(io.BytesIO(png)).convert("L"))
    (image,) = root.iter("{*}image")  # rows of four images in turn
    a, _, _, d, e, f = map(float, re.findall(r"-?[\d.]+", image.get("transform")))
    (levels,) = power_levels(result.after, machine_of(result))
    shades = np.round(225 + (40 - 225) * np.arange(6) / 5)
    for shape in result.after.shapes[:2]:
        grey = shape.grey
        cells = np.frombuffer(grey.greys, np.uint8).reshape(grey.rows, grey.columns)
        first = round((grey.matrix[5] + 0.2 - 4.0) / 0.1)
        for row in range(0, grey.rows, 3):
            powers = 0.1 + 0.9 * (254 - cells[row].astype(float)) / 254
            level = np.clip(np.searchsorted(levels.ends[1:-1], powers, side="right"), 0, 5)
            y = int(20 * (f + d * (first + 4 * row + 0.5)))
            x = (20 * (e + a * (np.arange(grey.columns) + 0.5))).astype(int)
            assert np.abs(shown[y, x].astype(int) - shades[level]).max() <= 1


def test_the_sheet_tells_what_to_set(solved):
    loaded, result = solved
    sheet = make_sheet(result, loaded, "bed").decode().replace("\u00a0", " ")
    assert sheet.count("10 % to 100 % by grey") == 4
    assert "One row to each row of pixels. No dithering" in sheet
    assert "the lightest grey at 10 %, black at 100 %, white not marked" in sheet
    assert sheet.count("0.4 mm") >= 4


def test_the_sheet_shows_the_levels_with_their_scale(solved):
    loaded, result = solved
    page = html.fromstring(make_sheet(result, loaded, "bed"))
    (levels,) = power_levels(result.after, machine_of(result))
    (picture,) = page.xpath("//*[@id='overlay-power']//*[local-name()='image']")
    head, _, data = picture.get("xlink:href").partition(",")
    assert head == "data:image/png;base64"
    greys = np.array(Image.open(io.BytesIO(base64.b64decode(data))))
    shades = sorted(set(greys[greys < 255].tolist()), reverse=True)
    assert greys.shape == (40, 200)  # the bed is 20 × 4 mm, all of it marked
    # the palest grey is that of the least power
    assert [round(0.01 * int((greys == shade).sum()), 6) for shade in shades] == pytest.approx(
        [area for area in levels.areas if area]
    )
    keys = page.find_class("level")
    texts = [" ".join(key.text_content().split()) for key in keys]
    assert sum(text.startswith("artwork: ") and text.endswith(" %") for text in texts) == 6
    assert page.xpath("//input[@data-layer='overlay-power']")


def test_software_that_places_by_the_box_sees_whole_pixels(solved):
    _, result = solved
    # images reach from 4 - 0.2 mm to the row at 7.9 + 0.2 mm; the part's middle is at 15, 7.5
    assert offset(result.after) == pytest.approx(
        {"x_mm": 0.0, "y_mm": 7.5 - (3.8 + 8.1) / 2, "along_mm": 0.0,
         "across_mm": 7.5 - (3.8 + 8.1) / 2, "angle_deg": 0.0}, abs=1e-9)  # fmt: skip
