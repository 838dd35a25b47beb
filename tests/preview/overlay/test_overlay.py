"""The overlay as a person gets it: words, amounts, nothing cut off, nothing that needs a script."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
import resvg_py
from lxml import etree
from PIL import Image
from shapely import MultiPolygon, Polygon, box

from preprocess.model.artwork.artwork import Page
from preprocess.model.artwork.output import output_layers
from preprocess.model.artwork.settings import Direction, Layer, Operation, Settings
from preprocess.model.bench.machine import Machine
from preprocess.passes._shared.transform import shape_mapped
from preprocess.preview.drawing.canvas import INK
from preprocess.preview.drawing.fill_patterns import OF_LAYERS
from preprocess.preview.overlay.overlay import compare_svg, overlay_svg
from preprocess.write.svg.layer_colours import assign_colours, contrast_ratio
from tests.labels import fern_label, shape
from tests.preview.drawn_text import text_boxes

SVG = "{http://www.w3.org/2000/svg}"
AFTER = fern_label()
BEFORE = replace(
    AFTER,
    page=Page(width=76.0, height=52.0, left=2.0),
    shapes=tuple(
        replace(
            s,
            bars=None,
            level=None,
            geometry=MultiPolygon([p.buffer(0.1) for p in s.geometry.geoms])
            if s.layer == "fronds"
            else s.geometry,
        )
        for s in AFTER.shapes
    ),
)
LONG = "a name that goes on and on as names of files in folders do, fern-label-final-2.svg"


def many_layers():
    """Nine engraved layers with long names, at three angles."""
    shapes, layers = [], []
    for i in range(7):
        name = f"layer-with-a-rather-long-name-{i}"
        settings = Settings(power=0.5, pitch=0.1, angle=30.0 * (i % 3), direction=Direction.TWO_WAY)
        area = MultiPolygon([box(12 + 7 * i, 10, 17 + 7 * i, 30)])
        shapes.append(shape(name, name, Operation.ENGRAVE, area))
        layers.append(Layer(name=name, operation=None, settings={Operation.ENGRAVE: settings}))
    return replace(AFTER, shapes=tuple(shapes), layers=tuple(layers))


def tall():
    thin = MultiPolygon([box(4, 10, 6, 490)])
    return replace(
        AFTER,
        page=Page(width=10.0, height=500.0),
        shapes=(shape("x", "dots", Operation.ENGRAVE, thin),),
        parts=(),
        keep_off=(),
    )


def nothing():
    return replace(AFTER, shapes=(), parts=(), keep_off=())


CASES = {
    "changed": (BEFORE, AFTER, Machine(field=(90.0, 60.0))),
    "hidden-field": (BEFORE, AFTER, Machine(field=(300.0, 300.0))),
    "small-field": (BEFORE, AFTER, Machine(field=(40.0, 30.0))),
    "same": (AFTER, AFTER, Machine()),
    "many": (BEFORE, many_layers(), Machine()),
    "tall": (nothing(), tall(), Machine()),
    "gone": (AFTER, nothing(), Machine()),
    "empty": (nothing(), nothing(), Machine()),
}


@pytest.fixture(params=CASES)
def sheet(request):
    before, after, machine = CASES[request.param]
    return overlay_svg(before, after, machine=machine, title=LONG)


def words(data) -> str:
    return " ".join(node.text for node in etree.fromstring(data).iter(f"{SVG}text"))


def overlay(before=BEFORE, after=AFTER, **more):
    return overlay_svg(before, after, title="fern.svg", **more)


def pixels(data, width=900):
    png = resvg_py.svg_to_bytes(svg_string=data.decode(), dpi=96, width=width)
    return np.asarray(Image.open(io.BytesIO(bytes(png))).convert("L")).astype(int)


def test_no_text_meets_another_or_leaves_the_sheet(sheet):
    root = etree.fromstring(sheet)
    height = float(root.get("height").removesuffix("mm"))
    boxes = list(text_boxes(sheet))
    for text, one in boxes:
        assert box(3, 2, 177, height - 1).covers(one), text
    for (text, one), (text2, two) in combinations(boxes, 2):
        assert not one.intersects(two), (text, text2)


def test_nothing_is_cut_off(sheet):
    image = pixels(sheet)
    margin = int(3 / 180 * image.shape[1])
    for edge in (image[:margin], image[-margin:], image[:, :margin], image[:, -margin:]):
        assert edge.min() == 255


def test_it_opens_in_any_viewer(sheet):
    root = etree.fromstring(sheet)
    tags = {etree.QName(node).localname for node in root.iter()}
    assert tags <= {"svg", "title", "defs", "pattern", "g", "path", "rect", "text"}
    for node in root.iter():
        assert not {"style", "class", "onload", "href"} & set(node.attrib)
    ids = [node.get("id") for node in root.iter() if node.get("id")]
    assert len(ids) == len(set(ids))
    wanted = set(re.findall(rb"url\(#([^)]+)\)", sheet))
    assert {name.decode() for name in wanted} <= set(ids)


def test_each_group_has_a_title(sheet):
    for node in etree.fromstring(sheet).iter(f"{SVG}g"):
        assert node[0].tag == f"{SVG}title"
        assert node[0].text


def test_text_can_be_read_in_print(sheet):
    sizes = {float(node.get("font-size")) for node in etree.fromstring(sheet).iter(f"{SVG}text")}
    assert min(sizes) >= 7 * 25.4 / 72
    assert contrast_ratio(INK) >= 4.5


def test_amounts_by_hand():
    said = words(overlay())
    assert "2 bars added beside the art 24.0 mm²" in said
    assert "name: score at 30 % 23.3 mm" in said
    fronds = AFTER.shapes[0].geometry.area
    assert f"fronds-1: engrave at 55 % {fronds:.1f} mm²" in said
    pairs = zip(BEFORE.shapes, AFTER.shapes, strict=True)
    removed = sum(b.geometry.area - a.geometry.area for b, a in pairs if b.layer == "fronds")
    shown = re.search(r"removed in 12 places, [a-z ]*([\d.]+) mm²", said)
    assert float(shown[1]) == pytest.approx(removed, abs=0.05)
    assert "lay a matt sacrificial card" in said


def test_the_picture_is_drawn_to_the_scale_it_states():
    data = overlay()
    scale = float(re.search(r"drawn ([\d.]+) times its size", words(data))[1])
    root = etree.fromstring(data)
    (bars,) = [
        g for g in root.iter(f"{SVG}g") if g[0].text.startswith("2 bars added beside the art (24.0")
    ]
    rings = re.findall(r"M([^Z]+)Z", bars[-1].get("d"))
    area = sum(Polygon(np.array(ring.split(), float).reshape(-1, 2)).area for ring in rings)
    assert area == pytest.approx(24.0 * scale**2, rel=0.02)


def test_the_scale_bar_is_as_long_as_it_says():
    root = etree.fromstring(overlay())
    (bar,) = [g for g in root.iter(f"{SVG}g") if g.get("id") == "scale"]
    length, scale = re.match(r"([\d.]+) mm; drawn ([\d.]+) times", bar[0].text).groups()
    left, right = re.search(r"M([\d.]+) [\d.]+ H([\d.]+)", bar[1].get("d")).groups()
    assert float(right) - float(left) == pytest.approx(float(length) * float(scale), rel=0.01)


def test_bars_are_hatched():
    data = overlay()
    bars = re.search(rb'url\(#bars\)" fill-rule="evenodd" stroke="#000000"[^>]* d="M([^Z]+)Z', data)
    x, y = np.array(bars[1].split(), float).reshape(-1, 2).T
    image = pixels(data, 3600)
    left, right, top, bottom = (round(v * 20) for v in (x.min(), x.max(), y.min(), y.max()))
    inside = image[top + 6 : bottom - 6, left + 6 : right - 6]
    assert 0.1 < (inside < 100).mean() < 0.7
    assert (inside > 200).any()


def test_when_nothing_changed_it_says_so():
    said = words(overlay(AFTER, AFTER))
    assert "No change." in said
    assert "as drawn" in said
    assert "removed" not in said


def test_a_change_of_paths_alone_is_told():
    dots = AFTER.shapes[2]
    apart = [
        replace(dots, id=f"d{i}", geometry=MultiPolygon([p]))
        for i, p in enumerate(dots.geometry.geoms)
    ]
    others = [s for s in AFTER.shapes if s is not dots]
    after = replace(AFTER, shapes=(*others, *apart))
    assert "No visible change: 4 paths became 5." in words(overlay(AFTER, after))


def test_a_placed_drawing_is_compared_as_it_lies():
    before = replace(AFTER, shapes=tuple(replace(s, bars=None) for s in AFTER.shapes))
    halved = (0.5, 0.0, 0.0, 0.5, 0.0, 0.0)
    after = replace(before, shapes=tuple(shape_mapped(s, halved) for s in before.shapes))
    said = words(overlay(before, after))
    assert "scaled 0.5 times" in said
    assert "No other change." in said


def test_the_field_is_drawn_or_said_to_be_larger():
    assert "90 × 60 mm" in words(overlay(machine=Machine(field=(90.0, 60.0))))
    assert "larger" not in words(overlay(machine=Machine(field=(90.0, 60.0))))
    assert "larger" in words(overlay(machine=Machine(field=(300.0, 300.0))))


def test_rows_are_shown_with_their_direction():
    assert "rows at 0°, one-way" in words(overlay())
    assert "rows in 3 directions" in words(overlay(after=many_layers()))


def test_colours_of_the_run_are_used():
    colours, _ = assign_colours(output_layers(AFTER), {"name": "#123456"}, None)
    assert b"#123456" in overlay(colours=colours)


def test_layers_differ_by_pattern_too():
    data = overlay(after=many_layers())
    assert {f"layer-{i}".encode() in data for i in range(7) if OF_LAYERS[i % 5]} == {True}


def test_same_artworks_same_bytes():
    assert overlay() == overlay()


def test_markup_in_names_is_text():
    data = overlay_svg(BEFORE, AFTER, title="<script>alert(1)</script>")
    assert b"<script" not in data
    assert "<script>alert(1)</script>: before and after" in words(data)


def test_any_two_drawings_are_laid_centre_on_centre():
    # the output's page grew by 4 mm on either side, and begins at its own corner
    grown = replace(
        AFTER,
        shapes=tuple(replace(s, bars=None) for s in AFTER.shapes),
        page=Page(width=88.0, height=52.0, left=-4.0),
    )
    assert "No change." in words(compare_svg(grown, grown, title="one and other"))
    before = replace(grown, page=Page(width=80.0, height=52.0))
    assert "No change." in words(compare_svg(before, grown, title="one and other"))
