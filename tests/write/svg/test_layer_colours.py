from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from shapely import MultiPolygon, box

from preprocess.model.artwork.artwork import Artwork, Page
from preprocess.model.artwork.grey import GreyImage
from preprocess.model.artwork.output import output_layers
from preprocess.model.artwork.settings import Layer, Operation, Settings
from preprocess.model.bench.machine import Machine
from preprocess.write.svg.layer_colours import COLOURS, SPARE, assign_colours, contrast_ratio
from tests.labels import fern_label, shape


def outputs_of(levels, *, layers=1, power=0.5):
    """Engraved layers, each with the given shares as its levels (none: no levels)."""
    made, shapes = [], []
    for i in range(layers):
        name = f"layer{i}"
        settings = {Operation.ENGRAVE: Settings(power=power)}
        made.append(Layer(name=name, operation=None, settings=settings, shares=tuple(levels)))
        for level in range(1, len(levels) + 1) if levels else (None,):
            area = MultiPolygon([box(0, 0, 1, 1)])
            shapes.append(shape(f"s{level}", name, Operation.ENGRAVE, area, level=level))
    page = Page(width=10.0, height=10.0)
    return output_layers(Artwork(page=page, shapes=tuple(shapes), layers=tuple(made)))


def codes(findings):
    return [(str(f.severity), f.code) for f in findings]


def test_colours_go_out_in_output_order():
    colours, findings = assign_colours(output_layers(fern_label()), {}, None)
    assert list(colours) == ["fronds-1", "fronds-2", "dots", "name"]
    assert tuple(colours.values()) == COLOURS[:4]
    assert findings == ()


def test_contrast_by_the_standards_own_examples():
    assert contrast_ratio("#000000") == pytest.approx(21)
    assert contrast_ratio("#ffffff") == pytest.approx(1)
    # 4.54:1 is the well known contrast_ratio of the darkest grey that passes on white
    assert contrast_ratio("#767676") == pytest.approx(4.54, abs=0.005)


def test_the_first_colours_stand_out_on_white_and_all_can_be_seen():
    assert all(contrast_ratio(colour) >= 2.9 for colour in COLOURS[:5])
    assert all(contrast_ratio(colour) >= 2.0 for colour in COLOURS)


# Viénot, Brettel and Mollon 1999, for linear sRGB
PROTAN = np.array([[0.11238, 0.88762, 0], [0.11238, 0.88762, 0], [0.00401, -0.00401, 1]])
DEUTAN = np.array([[0.29275, 0.70725, 0], [0.29275, 0.70725, 0], [-0.02234, 0.02234, 1]])
TO_XYZ = np.array(
    [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]
)  # fmt: skip


def lab(colour: str, sight: np.ndarray) -> np.ndarray:
    rgb = np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)]) / 255
    linear = np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)
    xyz = TO_XYZ @ np.clip(sight @ linear, 0, 1) / TO_XYZ.sum(axis=1)
    f = np.where(xyz > (6 / 29) ** 3, np.cbrt(xyz), xyz / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


@pytest.mark.parametrize("sight", [np.eye(3), PROTAN, DEUTAN], ids=["all", "protan", "deutan"])
def test_any_two_colours_differ_to_every_eye(sight):
    apart = [
        float(np.linalg.norm(lab(one, sight) - lab(other, sight)))
        for one, other in combinations(COLOURS, 2)
    ]
    assert min(apart) > 11  # a difference of 2.3 can just be seen


def test_an_override_wins_and_is_not_given_twice():
    colours, findings = assign_colours(outputs_of([1, 0.9, 0.8]), {"layer0-2": "#0072B2"}, None)
    assert colours == {"layer0-1": "#d55e00", "layer0-2": "#0072b2", "layer0-3": "#009e73"}
    assert findings == ()


@pytest.mark.parametrize("bad", ["red", "#12345", "#gggggg", "0072b2", "#0072b200", ""])
def test_a_bad_colour_stops(bad):
    colours, (finding,) = assign_colours(outputs_of([]), {"layer0": bad}, None)
    assert (finding.severity, finding.code) == ("stop", "bad-colour")
    assert "layer0" in finding.message
    assert colours["layer0"] == COLOURS[0]


def test_a_faint_colour_warns():
    _, findings = assign_colours(outputs_of([]), {"layer0": "#fefefe"}, None)
    assert codes(findings) == [("warn", "faint-colour")]


def test_a_colour_for_no_layer_warns_with_the_nearest_name():
    _, (finding,) = assign_colours(outputs_of([1, 0.9]), {"layer0-11": "#0072b2"}, None)
    assert (finding.severity, finding.code) == ("warn", "colour-without-layer")
    assert finding.remedy == "did you mean layer0-1?"


def test_two_layers_on_one_colour_stop():
    override = {"layer0-1": "#112233", "layer0-3": "#112233"}
    _, (finding,) = assign_colours(outputs_of([1, 0.9, 0.8]), override, None)
    assert (finding.severity, finding.code) == ("stop", "two-operations-on-one-colour")
    assert finding.message.startswith("layer0-1 and layer0-3 share the colour #112233")


def test_more_layers_than_colours_stop_and_name_the_nearest_levels():
    shares = [1, 0.95, 0.93, 0.88, 0.8, 0.7, 0.6, 0.5]
    colours, (finding,) = assign_colours(outputs_of(shares), {}, None)
    assert (finding.severity, finding.code) == ("stop", "too-many-layers")
    assert finding.message == "the output needs 8 colour layers, but there are 7 colours"
    assert "merge layer0-2 and layer0-3" in finding.remedy
    assert "1 % power" in finding.remedy
    assert colours["layer0-8"] == SPARE


def test_more_images_of_greys_than_colours_stop_and_say_how_many_there_may_be():
    image = GreyImage(columns=1, rows=1, greys=b"\0", matrix=(1, 0, 0, 1, 0, 0), height=1.0)
    outputs = [
        replace(output, shapes=tuple(replace(one, grey=image) for one in output.shapes))
        for output in outputs_of([1] * 8)
    ]
    _, (finding,) = assign_colours(outputs, {}, None)
    assert finding.code == "too-many-layers"
    assert finding.remedy.startswith("give grey fewer images: 7; ")
    assert "power" not in finding.remedy


def test_where_fewer_images_are_not_enough_levels_are_named():
    image = GreyImage(columns=1, rows=1, greys=b"\0", matrix=(1, 0, 0, 1, 0, 0), height=1.0)
    outputs = list(outputs_of([1, 0.9, 0.8, 0.7]))
    outputs[0] = replace(outputs[0], shapes=(replace(outputs[0].shapes[0], grey=image),))
    _, (finding,) = assign_colours(outputs, {}, Machine(max_layers=1))
    assert "images" not in finding.remedy
    assert "merge layer0-2 and layer0-3" in finding.remedy


def test_more_rounds_than_colours_stop_and_name_the_step_that_makes_them():
    outputs = [
        replace(output, shapes=tuple(replace(one, round=1) for one in output.shapes))
        for output in outputs_of([1, 0.9, 0.8])
    ]
    _, (finding,) = assign_colours(outputs, {}, Machine(max_layers=2))
    assert "by giving interleave: one colour fewer" in finding.remedy


def test_an_own_colour_makes_room():
    colours, findings = assign_colours(outputs_of([], layers=8), {"layer7": "#445566"}, None)
    assert findings == ()
    assert len(set(colours.values())) == 8


def test_the_machines_limit_stops():
    _, (finding,) = assign_colours(
        outputs_of([], layers=3), {}, Machine(name="bench galvo", max_layers=2)
    )
    assert finding.message == (
        "the output needs 3 colour layers, but the software of bench galvo takes 2 layers"
    )
    assert "under one name" in finding.remedy


def test_as_many_layers_as_the_machine_takes_are_fine():
    assert assign_colours(outputs_of([], layers=2), {}, Machine(max_layers=2))[1] == ()


def test_two_layers_of_one_name_stop():
    # level 1 of layer "a" and a layer "a-1" would both be called a-1
    area = MultiPolygon([box(0, 0, 1, 1)])
    artwork = Artwork(
        page=Page(width=10.0, height=10.0),
        shapes=(
            shape("x", "a", Operation.ENGRAVE, area, level=1),
            shape("y", "a-1", Operation.ENGRAVE, area),
        ),
        layers=tuple(Layer(name=n, operation=None, settings={}) for n in ("a", "a-1")),
    )
    _, findings = assign_colours(output_layers(artwork), {}, None)
    assert codes(findings) == [("stop", "two-layers-one-name")]
