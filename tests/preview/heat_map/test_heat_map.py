"""The heat map: which colour stands where, what its lines enclose, that all can be read."""

from __future__ import annotations

import io
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
import resvg_py
from lxml import etree
from PIL import Image
from shapely import MultiPolygon, box

from preprocess.findings import note, warn
from preprocess.marking.heat.index import HeatIndex
from preprocess.marking.heat.index_images import IndexImage
from preprocess.model.artwork.artwork import Artwork, Page
from preprocess.model.artwork.settings import Layer, Operation
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.filament import Window
from preprocess.preview.heat_map.heat_map import LIMIT, heat_map_svg
from preprocess.preview.heat_map.scale import LEVELS, heat_scale
from tests.labels import ENGRAVE, fern_label, shape
from tests.preview.drawn_text import text_boxes

SVG = "{http://www.w3.org/2000/svg}"
LEFT, TOP, WIDE, TALL = 10.0, 10.0, 40.0, 20.0
WINDOW = Window(weak=0.75, heavy=1.25)
COOL, HOT = 0.5, 1.5
BENCH = Bench()


def leaf_bed(*, step=0.1) -> tuple[Artwork, HeatIndex]:
    """A rectangle of 40 × 20 mm whose index rises from 0.5 at the left to 1.5 at the right."""
    area = MultiPolygon([box(LEFT, TOP, LEFT + WIDE, TOP + TALL)])
    artwork = Artwork(
        page=Page(width=60.0, height=40.0),
        shapes=(shape("bed", "bed", Operation.ENGRAVE, area),),
        layers=(Layer(name="bed", operation=None, settings={Operation.ENGRAVE: ENGRAVE}),),
    )
    u = np.arange(LEFT + step / 2, LEFT + WIDE, step)
    v = np.arange(TOP + step / 2, TOP + TALL, step)
    index = np.broadcast_to(COOL + (HOT - COOL) * (u - LEFT) / WIDE, (len(v), len(u)))
    return artwork, heat_from(index, u, v)


def heat_from(index, u, v, *, window=WINDOW, calibrated=True) -> HeatIndex:
    patch = IndexImage(
        step=0,
        output="bed",
        part=None,
        angle=0.0,
        v=v,
        u=u,
        lit=np.ones(index.shape, bool),
        index=np.array(index),
        spike=np.array(index),
        residual=np.array(index),
        cell=float((u[1] - u[0]) * (v[1] - v[0])),
        share=np.ones((len(v), len(u)), np.float32),
    )
    return HeatIndex(images=(patch,), window=window, calibrated=calibrated, assumed=())


def draw(artwork, heat, **more) -> bytes:
    return heat_map_svg(artwork, heat, bench=BENCH, title="leaf-bed.svg", **more)


def pixels(data, width=1800):
    png = resvg_py.svg_to_bytes(svg_string=data.decode(), dpi=96, width=width)
    return np.asarray(Image.open(io.BytesIO(bytes(png))).convert("RGB")).astype(int)


def on_page(data) -> tuple[float, float, float]:
    """Sheet mm per mm and where the bed's left edge is, from the clip that shows the bed."""
    root = etree.fromstring(data)
    data = next(root.iter(f"{SVG}clipPath"))[0].get("d")
    numbers = np.array([float(n) for n in data.replace("M", "").replace("Z", "").split()])
    x, y = numbers[::2], numbers[1::2]
    return (x.max() - x.min()) / WIDE, x.min(), y.min()


def test_each_place_has_the_colour_of_its_index():
    artwork, heat = leaf_bed()
    data, scale = draw(artwork, heat), heat_scale(heat)
    zoom, left, top = on_page(data)
    image, dots = pixels(data), 1800 / 180
    for index in (0.55, 0.66, 0.87, 1.02, 1.18, 1.33, 1.47):
        x = left + zoom * WIDE * (index - COOL) / (HOT - COOL)
        red, green, blue = image[round((top + zoom * TALL / 2) * dots), round(x * dots)]
        number = int((index - scale.low) / (scale.high - scale.low) * LEVELS)
        assert f"#{red:02x}{green:02x}{blue:02x}" == scale.colours[number], index


def test_lines_stand_where_the_window_ends():
    artwork, heat = leaf_bed()
    data = draw(artwork, heat)
    zoom, left, top = on_page(data)
    image, dots = pixels(data).sum(axis=2), 1800 / 180
    row = image[round((top + zoom * TALL / 2) * dots)]
    black = np.flatnonzero(row < 60) / dots
    heavy = left + zoom * WIDE * 0.75
    assert np.abs(black - heavy).min() < 0.3, "the line of what is too heavy is solid"
    weak = left + zoom * WIDE * 0.25
    band = image[round(top * dots) : round((top + zoom * TALL) * dots)]
    column = band[:, round((weak - 0.3) * dots) : round((weak + 0.3) * dots)].min(axis=1)
    dark = (column < 60).mean()
    assert 0.4 < dark < 0.8, "the line of what is too weak is dashed"


def test_small_places_get_no_line():
    artwork, heat = leaf_bed()
    u, v = heat.images[0].u, heat.images[0].v
    index = np.ones((len(v), len(u)))
    index[50:54, 100:104] = 1.4
    assert "too heavy" not in drawn_limits(draw(artwork, heat_from(index, u, v)))
    index[50:56, 100:106] = 1.4
    assert "too heavy" in drawn_limits(draw(artwork, heat_from(index, u, v)))


def drawn_limits(data) -> str:
    """Which limits have a line on the map itself, by their dashes."""
    body = etree.fromstring(data).find(f"{SVG}g[@id='map']")
    lines = [n for n in body.iter(f"{SVG}path") if n.get("stroke") == "#000000"]
    return " ".join("too weak" if n.get("stroke-dasharray") else "too heavy" for n in lines)


def test_fading_at_the_rims_of_rows_is_not_too_weak():
    artwork, heat = leaf_bed()
    u, v = heat.images[0].u, heat.images[0].v
    index = np.ones((len(v), len(u)))
    index[:, :3] = index[:, -3:] = 0.5
    assert drawn_limits(draw(artwork, heat_from(index, u, v))) == ""
    index[:, :8] = 0.5
    assert drawn_limits(draw(artwork, heat_from(index, u, v))) == "too weak"


def test_without_grades_the_unit_is_the_median_and_it_says_so():
    artwork, heat = leaf_bed()
    u, v = heat.images[0].u, heat.images[0].v
    ranking = heat_from(3 * heat.images[0].index, u, v, calibrated=False)
    told, data = draw(artwork, heat).decode(), draw(artwork, ranking).decode()
    assert "uncalibrated" in data
    assert "uncalibrated" not in told
    assert heat_scale(ranking).base == pytest.approx(3.0, abs=0.01)


def test_two_maps_share_a_scale_when_asked():
    artwork, heat = leaf_bed()
    u, v = heat.images[0].u, heat.images[0].v
    before = heat_from(heat.images[0].index, u, v, window=Window(weak=0.7, heavy=1.2, molten=2.4))
    assert heat_scale(before).high == pytest.approx(2.6)
    like = draw(artwork, heat, like=before)
    assert b"molten above 2.4" in like
    assert b"molten" not in draw(artwork, heat)


def spotted(count: int):
    """Findings in a row, 1 mm apart, so that their numbers must make room for one another."""
    return tuple(
        replace(warn("heavy-there", f"bed {n} is too heavy; why", "-"), spot=(20.0 + n, 20.0))
        for n in range(count)
    )


@pytest.mark.parametrize("count", [0, 1, 5, 12, 15])
def test_no_text_meets_another_or_leaves_the_sheet(count):
    artwork, heat = leaf_bed()
    window = Window(weak=0.7, heavy=1.2, molten=1.3)
    graded = heat_from(heat.images[0].index, heat.images[0].u, heat.images[0].v, window=window)
    data = draw(artwork, graded, findings=spotted(count))
    height = float(etree.fromstring(data).get("height").removesuffix("mm"))
    boxes = list(text_boxes(data))
    for text, one in boxes:
        assert box(2, 2, 178, height - 1).covers(one), text
    for (text, one), (text2, two) in combinations(boxes, 2):
        assert not one.intersects(two), (text, text2)


def test_places_are_numbered_once_on_the_map_and_once_in_the_list():
    artwork, heat = leaf_bed()
    data = draw(artwork, heat, findings=(*spotted(14), note("elsewhere", "no spot", "none")))
    words = [node.text for node in etree.fromstring(data).iter(f"{SVG}text")]
    for number in range(1, 13):
        assert words.count(str(number)) == 2 + (str(number) == "1")
    assert "2 more: see the findings of the command" in words
    assert not any("no spot" in word for word in words)


def test_places_are_told_in_mm_from_the_corner_of_the_output_page():
    artwork, heat = leaf_bed()
    grown = replace(artwork, page=Page(width=70.0, height=40.0, left=-5.0))
    data = draw(grown, heat, findings=spotted(1)).decode()
    assert "bed 0 is too heavy (at 25.0, 20.0 mm)" in data


def test_a_large_map_is_drawn_coarser_but_whole():
    artwork, _ = leaf_bed()
    rng = np.random.default_rng(7)
    u, v = np.arange(10.02, 50, 0.04), np.arange(10.02, 30, 0.04)
    data = draw(artwork, heat_from(rng.uniform(0.4, 1.6, (len(v), len(u))), u, v))
    assert len(data) <= LIMIT
    assert on_page(data)[0] > 1


def test_nothing_engraved_says_so():
    artwork = replace(fern_label(), shapes=())
    empty = HeatIndex(images=(), window=WINDOW, calibrated=True, assumed=())
    assert b"Nothing to show" in draw(artwork, empty)


def test_the_same_map_twice_is_the_same_file():
    artwork, heat = leaf_bed()
    assert draw(artwork, heat, findings=spotted(5)) == draw(artwork, heat, findings=spotted(5))
