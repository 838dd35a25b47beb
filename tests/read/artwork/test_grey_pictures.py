"""Pictures of greys that are read to be marked: what was written comes back."""

from __future__ import annotations

import base64
import io
import re

import numpy as np
import pytest
from PIL import Image

from preprocess.errors import UserError
from preprocess.marking.job.plan import plan_of
from preprocess.marking.job.schedule import schedule_of
from preprocess.model.artwork.artwork import Drawing
from preprocess.model.artwork.output import output_layers
from preprocess.model.artwork.picture import Images
from preprocess.model.options.reading import LayerRule
from preprocess.pipeline import convert
from preprocess.recipe.load import load_recipe
from tests.read.reading import codes, read_sheet

MACHINE = """machine: {name: bench galvo, turnaround: 1.2 ms, layer_pause: 0.3 s,
  grey: {from: 5 %, to: 95 %, gamma: 1}}
settings:
  engrave: {power: 50 %, speed: 400 mm/s, pitch: 0.1 mm, direction: two-way, angle: ANGLE deg}
"""
WRITE = "recipe: 1\ndesign: leaf.svg\n" + MACHINE + "passes: [merge, {grey: {solve: false}}]\n"
READ = (
    "recipe: 1\ndesign: leaf.svg\n" + MACHINE + "drawing: {images: grey}\nlayers:\n"
    '  - {name: artwork, operation: engrave, choose: {select: "image"}}\n'
).replace("name: artwork", "name: leaf")
LEAF = (
    b'<svg xmlns="http://www.w3.org/2000/svg" width="12mm" height="9mm" viewBox="0 0 12 9">'
    b'<path id="leaf" d="M1 4.5 Q5 0.8 10.7 4.4 Q5 8 1 4.5 Z"/></svg>'
)


def load(text, angle=0):
    return load_recipe(None, text.replace("ANGLE", str(angle)), "leaf.svg")


def picture(greys, mode="L", **place):
    held = io.BytesIO()
    Image.fromarray(np.asarray(greys, np.uint8)).convert(mode).save(held, "PNG")
    data = base64.b64encode(held.getvalue()).decode()
    where = " ".join(f'{name}="{value}"' for name, value in place.items())
    return f'<image {where} href="data:image/png;base64,{data}"/>'


@pytest.mark.parametrize("angle", [0, 90, 30])
def test_a_written_file_is_read_back_as_it_will_be_marked(angle):
    once = convert(load(WRITE, angle), LEAF, "leaf.svg")
    again = convert(load(READ, angle), once.data, "leaf.svg")
    assert again.data is not None
    assert len(again.after.shapes) == 4
    machine = once.bench.machine_or_default
    for one, other in zip(once.after.shapes, again.after.shapes, strict=True):
        assert other.grey.greys == one.grey.greys
        assert other.grey.height == pytest.approx(one.grey.height)
        assert np.abs(np.subtract(other.grey.corners, one.grey.corners)).max() < 2e-4
        assert (other.level, other.round) == (one.level, one.round)
        assert other.geometry.area == pytest.approx(one.geometry.area, rel=1e-4)
    plans = [plan_of(result.after, machine) for result in (once, again)]
    for one, other in zip(plans[0].steps, plans[1].steps, strict=True):
        assert other.rows == pytest.approx(one.rows, abs=2e-4)
        assert np.array_equal(other.grey.power, one.grey.power)
    times = [schedule_of(plan, machine).total for plan in plans]
    assert times[1] == pytest.approx(times[0], rel=1e-3)
    pitches = [output.settings.pitch for output in output_layers(again.after)]
    assert pitches == pytest.approx([0.4] * 4, rel=1e-3)


def test_a_single_picture_is_marked_by_its_greys():
    greys = [[0, 128, 255], [254, 255, 60]]
    body = picture(greys, x=10, y=20, width=6, height=4, preserveAspectRatio="none")
    reading = read_sheet(body, drawing=Drawing(images=Images.GREY))
    (shape,) = reading.artwork.shapes
    assert shape.grey.greys == bytes([0, 128, 255, 254, 255, 60])
    assert shape.grey.cell == pytest.approx((2.0, 2.0))
    assert shape.geometry.area == pytest.approx(4 * 4.0)  # four pixels of 2 × 2 mm
    assert shape.geometry.bounds == pytest.approx((10, 20, 16, 24))
    assert (shape.level, shape.round) == (None, None)
    assert reading.artwork.pictures == ()


@pytest.mark.parametrize("mode", ["RGB", "LA", "P"])
def test_a_picture_of_colours_is_carried_through_and_told(mode):
    body = picture([[0, 128], [255, 60]], mode, x=10, y=20, width=4, height=4)
    reading = read_sheet(body, drawing=Drawing(images=Images.GREY))
    assert codes(reading) == {"image-not-grey", "image-kept"}
    assert (len(reading.artwork.pictures), len(reading.artwork.shapes)) == (1, 0)


def test_pictures_stay_pictures_where_nobody_asks():
    body = picture([[0, 128], [255, 60]], x=10, y=20, width=4, height=4)
    reading = read_sheet(body)
    assert (len(reading.artwork.pictures), len(reading.artwork.shapes)) == (1, 0)


def test_a_layer_rule_chooses_pictures():
    from preprocess.model.artwork.settings import Operation
    from preprocess.model.artwork.source import Selection

    body = picture([[0, 128]], id="moth", x=1, y=2, width=4, height=2, preserveAspectRatio="none")
    rule = LayerRule(name="wings", operation=Operation.ENGRAVE, choose=Selection(select="#moth"))
    reading = read_sheet(
        body,
        drawing=Drawing(images=Images.GREY),
        layers=(rule,),
        selectors=frozenset({"#moth"}),
    )
    assert [shape.layer for shape in reading.artwork.shapes] == ["wings"]


def test_greys_without_a_curve_are_refused_with_the_place():
    text = re.sub(r",\n  grey: \{.*?\}", "", READ)
    with pytest.raises(UserError, match="images is grey, but the machine file has no grey"):
        load(text)


def test_a_curve_that_falls_is_refused():
    with pytest.raises(UserError, match="from is not below to"):
        load(READ.replace("to: 95 %", "to: 3 %"))


@pytest.mark.parametrize(
    "step", ["merge", "solve-power", "interleave", "{place: {rotate: 90 deg}}"]
)
def test_no_step_may_undo_images_of_the_drawing(step):
    once = convert(load(WRITE), LEAF, "leaf.svg")
    with pytest.raises(UserError, match="would undo that areas are images of greys"):
        convert(load(f"{READ}passes: [{step}]\n"), once.data, "leaf.svg")


def test_a_second_grey_step_leaves_them():
    once = convert(load(WRITE), LEAF, "leaf.svg")
    again = convert(load(f"{READ}passes: [grey]\n"), once.data, "leaf.svg")
    assert "greys-already" in {finding.code for finding in again.findings}
