"""Shades and images through the whole pipeline."""

import base64
import io

import pytest
from PIL import Image

from preprocess.errors import UserError
from preprocess.pipeline import convert
from preprocess.recipe.load import load_recipe
from tests.written_layers import written_figures

HEAD = """recipe: 1
shades: {bands: 4}
settings: {engrave: {power: 80 %, speed: 900 mm/s, pitch: 0.1 mm}}
"""
LABEL = """<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="60mm" viewBox="0 0 100 60">
<linearGradient id="g"><stop/><stop offset="1" stop-color="#fff"/></linearGradient>
<rect id="wing" x="10" y="10" width="80" height="10" fill="url(#g)"/>
<rect id="name" x="10" y="30" width="20" height="10"/>IMAGE</svg>"""


def run(recipe, image=""):
    label = LABEL.replace("IMAGE", image)
    return convert(load_recipe(None, HEAD + recipe), label.encode(), "moth.svg")


def test_each_band_is_an_output_layer_with_its_power():
    """Borders at 20, 40, 60 and 80 mm are those of 7/8, 5/8, 3/8 and 1/8 of 80 mm."""
    result = run("passes: [merge]")
    areas = {key: one.area for key, one in written_figures(result.data).items()}
    expected = {"artwork": 200, "artwork-1": 100, "artwork-2": 200, "artwork-3": 200}
    assert areas == pytest.approx({**expected, "artwork-4": 200}, rel=1e-6)
    (layer,) = result.after.layers
    assert layer.shares == (1, 0.75, 0.5, 0.25)


def test_zones_of_another_kind_do_not_mix_with_bands():
    with pytest.raises(UserError, match=r"levels already, with powers of 100 %, 75 %, 50 %, 25 %"):
        run("passes: [{tag-power: {levels: 2, powers: [100 %, 90 %]}}]")


def test_zones_of_another_layer_may_stand_beside_bands():
    result = run(
        "layers: [{name: name, operation: engrave, choose: {select: '#name'}}]\n"
        "passes: [{tag-power: {levels: 2, powers: [100 %, 90 %]}}]"
    )
    assert {layer.name: layer.shares for layer in result.after.layers} == {
        "name": (1, 0.9),
        "artwork": (1, 0.75, 0.5, 0.25),
    }


def test_an_image_goes_with_the_drawing_that_is_placed():
    out = io.BytesIO()
    Image.new("RGB", (4, 2), (90, 120, 60)).save(out, "PNG")
    data = base64.b64encode(out.getvalue()).decode()
    image = f'<image x="40" y="30" width="40" height="20" href="data:image/png;base64,{data}"/>'
    result = run("passes: [{place: {shift: [5 mm, -2 mm]}}]", image)
    assert b'x="45" y="28" width="40" height="20"' in result.data
    assert data.encode() in result.data
    assert [f.code for f in result.findings if f.code.startswith("image")] == ["image-kept"]
