"""Written images of greys, to Pillow, resvg and Chromium: every pixel, in its place."""

from __future__ import annotations

import base64
import io
import re

import numpy as np
import pytest
import resvg_py
from lxml import etree
from PIL import Image

from preprocess.model.artwork.grey import GreyImage
from preprocess.pipeline import convert
from preprocess.recipe.load import load_recipe
from preprocess.write.svg.png_bytes import png_bytes
from preprocess.write.verify.readback import disagreements
from tests.browser import chromium, needs_chromium
from tests.second_simulator.greys import read_pictures

LEAF = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="12mm" height="9mm" viewBox="0 0 12 9">'
    '<path id="leaf" d="M1.03 4.517 Q5 0.8 10.7 4.4 Q5 8 1.03 4.517 Z"/></svg>'
)
RECIPE = """recipe: 1
design: leaf.svg
machine: {{name: bench galvo, turnaround: 1.2 ms, first_row: {rule},
  grey: {{from: 5 %, to: 95 %, gamma: 1}}}}
settings:
  engrave: {{power: 50 %, speed: 400 mm/s, pitch: {pitch} mm, angle: 0 deg}}
passes: [merge, {{grey: {{images: {images}, solve: {solve}}}}}]
"""


def written(rule="edge", images=4, pitch=0.1, solve="true"):
    recipe = RECIPE.format(rule=rule, images=images, pitch=pitch, solve=solve)
    return convert(load_recipe(None, recipe, "leaf.svg"), LEAF.encode(), "leaf.svg")


@pytest.fixture(scope="module")
def leaf():
    return written()


@pytest.mark.parametrize("shape", [(1, 1), (7, 31), (40, 3)])
def test_pillow_reads_every_pixel_and_the_size_of_a_cell(shape):
    greys = np.random.default_rng(1).integers(0, 256, shape, np.uint8)
    image = GreyImage(
        columns=shape[1],
        rows=shape[0],
        greys=greys.tobytes(),
        matrix=(0.1, 0, 0, 0.4, 0, 0),
        height=0.1,
    )
    with Image.open(io.BytesIO(png_bytes(image))) as opened:
        opened.load()
        assert opened.mode == "L"
        assert np.array_equal(np.array(opened), greys)
        # a cell of 0.1 × 0.4 mm: 254 and 63.5 dots per inch
        assert opened.info["dpi"] == pytest.approx((254, 63.5), rel=1e-3)


@pytest.mark.parametrize("rule", ["edge", "half-pitch", "page"])
@pytest.mark.parametrize("pitch", [0.1, 0.0847])
def test_rows_lie_on_the_rows_of_the_machine(rule, pitch):
    pictures = read_pictures(written(rule, pitch=pitch, solve="false").data)
    # the upper edge has y = (1 - t)² 4.517 + 2 t (1 - t) 0.8 + t² 4.4: least where dy/dt = 0
    top = 0.5 * (4.517 * 4.4 - 0.8**2) / (0.5 * (4.517 + 4.4) - 0.8)
    first = {
        "edge": top,
        "half-pitch": top + pitch / 2,
        "page": pitch * np.ceil(top / pitch),
    }[rule]
    v = np.concatenate([p.rows[(p.greys < 255).any(axis=1)] for p in pictures])
    number = (np.sort(v) - first) / pitch
    assert np.abs(number - np.rint(number)).max() * pitch < 1e-3
    assert np.diff(np.rint(number)) == pytest.approx(1.0)
    for picture in pictures:
        lit = picture.rows[(picture.greys < 255).any(axis=1)]
        assert np.diff(lit) == pytest.approx(len(pictures) * pitch, abs=1e-6)


def test_the_same_drawing_gives_the_same_bytes(leaf):
    assert written().data == leaf.data


def one_image(data, number, scale):
    """The file with only one of its images, drawn at so many pixels to the mm."""
    root = etree.fromstring(data)
    groups = root.findall("{*}g")
    for other in groups[:number] + groups[number + 1 :]:
        root.remove(other)
    root.set("width", f"{12 * scale}")
    root.set("height", f"{9 * scale}")
    return etree.tostring(root).decode()


def expect_pixels(shown, picture, scale):
    """Each pixel of the picture, in its middle and near its corners."""
    cell = picture.wide / picture.greys.shape[1]
    high = picture.high / picture.greys.shape[0]
    wrong = 0
    for part in ((0.1, 0.1), (0.5, 0.5), (0.9, 0.9), (0.1, 0.9), (0.9, 0.1)):
        y = picture.top + high * (np.arange(picture.greys.shape[0]) + part[1])
        x = picture.left + cell * (np.arange(picture.greys.shape[1]) + part[0])
        seen = shown[np.floor(y * scale).astype(int)][:, np.floor(x * scale).astype(int)]
        wrong += int((seen != picture.greys).sum())
    assert wrong == 0


def test_resvg_draws_every_pixel_in_its_place(leaf):
    for number, picture in enumerate(read_pictures(leaf.data)):
        text = one_image(leaf.data, number, 100)
        png = bytes(resvg_py.svg_to_bytes(svg_string=text, background="#ffffff"))
        shown = np.asarray(Image.open(io.BytesIO(png)).convert("L"))
        expect_pixels(shown, picture, 100)


@needs_chromium
def test_chromium_draws_every_pixel_in_its_place(leaf, tmp_path):
    with chromium() as browser:
        for number, picture in enumerate(read_pictures(leaf.data)[:1]):
            path = tmp_path / f"{number}.svg"
            path.write_text(one_image(leaf.data, number, 100), "utf-8")
            with browser.page(path, (1200, 900)) as page:
                shown = np.asarray(Image.open(io.BytesIO(page.screenshot())).convert("L"))
            expect_pixels(shown, picture, 100)


def test_the_read_back_is_silent_on_good_files_and_sees_each_damage(leaf):
    def told(old, new):
        changed = re.sub(old, new, leaf.data.decode(), count=1, flags=re.DOTALL)
        assert changed != leaf.data.decode()
        return disagreements(leaf.after, leaf.colours, changed.encode())

    assert disagreements(leaf.after, leaf.colours, leaf.data) == ()
    assert "corner is off" in told(r' x="([\d.]+)"', r' x="9.5"')[0]
    assert "corner is off" in told(r' height="[\d.]+" pres', ' height="3" pres')[0]
    assert "is drawn" in told("optimizeSpeed", "auto")[0]
    assert "is missing" in told(r"    <image.*?/>\n", "")[0]
    assert "was not meant" in told(r"(    <image .*?/>\n)", r"\1\1".replace("id", "ID"))[0]
    data = re.search(r"base64,([^\"]+)", leaf.data.decode())[1]
    with Image.open(io.BytesIO(base64.b64decode(data))) as opened:
        greys = np.array(opened)
    row, column = np.argwhere(greys < 255)[5]
    greys[row, column] += 1
    held = io.BytesIO()
    Image.fromarray(greys).save(held, "PNG")
    other = base64.b64encode(held.getvalue()).decode()
    assert "1 of its pixels are not" in told(re.escape(data), other)[0]
