"""The check of the written bytes: it is silent on good files and sees each kind of damage."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree
from shapely import MultiLineString, MultiPolygon, Point, Polygon, box

from preprocess.model.artwork.artwork import Artwork, Drawing, Page
from preprocess.model.artwork.output import output_layers
from preprocess.model.artwork.settings import Layer, Operation
from preprocess.write.svg.layer_colours import assign_colours
from preprocess.write.svg.svg_document import svg_bytes
from preprocess.write.verify.readback import disagreements
from tests.labels import fern_label, shape
from tests.written_layers import read_back_shapes, written_figures


@pytest.fixture(scope="module")
def label():
    artwork = fern_label()
    colours, _ = assign_colours(output_layers(artwork), {}, None)
    return artwork, colours, svg_bytes(artwork, colours=colours)


def damaged(label, old: str, new: str, count: int = 1) -> tuple[str, ...]:
    artwork, colours, data = label
    text = data.decode()
    changed = re.sub(old, new, text, count=count, flags=re.DOTALL)
    assert changed != text
    return disagreements(artwork, colours, changed.encode())


def test_a_good_file_is_good(label):
    assert disagreements(*label) == ()


def test_figures_by_hand(label):
    figures = written_figures(label[2])
    assert list(figures) == ["fronds-1", "fronds-2", "dots", "name"]
    # two bars of 0.6 × 20 mm reach from 5 to 75 mm
    assert figures["fronds-1"].count == 6 + 2
    assert read_back_shapes(label[2])["fronds-1"].bounds[0::2] == (5, 75)
    # polygons of 64 corners in circles: (n/2) r² sin(2π/n) = 3.1365485 r²
    assert figures["dots"].area == pytest.approx(3.1365485 * (9 - 4 + 0.36), abs=2e-3)
    assert figures["dots"].moments[0] == pytest.approx(62 * figures["dots"].area, rel=1e-4)
    # 4 + 3.1235, the triangle 4 + √13 + √13, and the slanted stroke of 5
    assert figures["name"].length == pytest.approx(7.1235 + 4 + 2 * 13**0.5 + 5, abs=1e-3)
    assert figures["name"].area == 0


def test_shapes_come_back(label):
    shapes = read_back_shapes(label[2])
    want = label[0].shapes[2].geometry
    assert shapes["dots"].symmetric_difference(want).buffer(-1e-4).is_empty
    assert len(shapes["name"].geoms) == 3


def test_lines_come_back_closed_where_they_were():
    """A triangle and an open line, of the same three corners."""
    corners = [(1, 1), (4, 1), (4, 5)]
    lines = MultiLineString([[*corners, corners[0]], corners])
    artwork = scored(lines)
    data = svg_bytes(artwork, colours={"veins-score": "#0072b2"})
    (found,) = read_back_shapes(data).values()
    assert [line.is_closed for line in found.geoms] == [True, False]
    assert found.equals_exact(lines, 1e-9)


def scored(lines, *, beside=None):
    shapes = [shape("vein", "veins", Operation.SCORE, lines)]
    if beside is not None:
        shapes.insert(0, shape("speck", "specks", Operation.ENGRAVE, beside))
    names = list(dict.fromkeys(s.layer for s in shapes))
    layers = tuple(Layer(name=name, operation=None, settings={}) for name in names)
    return Artwork(page=Page(width=20, height=20), shapes=tuple(shapes), layers=layers)


@pytest.mark.parametrize("alone", [True, False])
def test_a_layer_that_rounding_takes_away_is_not_missed(alone):
    speck = MultiPolygon([box(3, 3, 3.00001, 3.00001)])
    vein = MultiLineString([[(1, 1), (4, 1)]])
    artwork = scored(vein, beside=speck)
    if alone:
        artwork = replace(artwork, shapes=artwork.shapes[:1])
    colours, _ = assign_colours(output_layers(artwork), {}, None)
    data = svg_bytes(artwork, colours=colours)
    assert b"speck" not in data
    assert disagreements(artwork, colours, data) == ()


def test_a_dropped_bar_is_seen(label):
    assert "area" in " ".join(damaged(label, r"M5 20 .*? Z\s", ""))


@pytest.mark.parametrize("operation", [Operation.SCORE, Operation.CUT])
def test_an_area_to_trace_is_meant_as_its_rings(operation):
    ring = MultiPolygon([Polygon(box(1, 1, 9, 8).exterior, [box(3, 3, 5, 4).exterior])])
    artwork = scored(ring)
    artwork = replace(artwork, shapes=(replace(artwork.shapes[0], operation=operation),))
    colours, _ = assign_colours(output_layers(artwork), {}, None)
    data = svg_bytes(artwork, colours=colours)
    assert disagreements(artwork, colours, data) == ()
    assert disagreements(artwork, colours, data.replace(b"L3 3 Z", b"L3 3.1 Z"))
    assert [one.length for one in written_figures(data).values()] == pytest.approx([30 + 6])


def test_a_line_that_rounding_takes_away_is_not_missed():
    artwork = scored(MultiLineString([[(1, 1), (1.00001, 1)]]))
    colours, _ = assign_colours(output_layers(artwork), {}, None)
    data = svg_bytes(artwork, colours=colours)
    assert b"<path" not in data
    assert disagreements(artwork, colours, data) == ()
    longer = scored(MultiLineString([[(1, 1), (1.01, 1)]]))
    assert disagreements(longer, colours, data) == ("layer veins-score is missing",)


def test_an_area_left_open_is_seen(label):
    assert "open ring" in " ".join(damaged(label, r" Z\nM", "\nM"))


def test_a_dropped_hole_is_seen(label):
    assert any("disc: area" in line for line in damaged(label, r"\nM62 10 .*? Z", ""))


def test_a_hole_written_the_wrong_way_round_is_seen(label):
    def turn(match):
        return "M" + " L".join(reversed(match[1].split(" L"))) + " Z"

    assert any("disc" in line for line in damaged(label, r"M(62 10 [^Z]*) Z", turn))


def test_levels_that_swap_names_are_seen(label):
    swap = {"fronds-1": "fronds-2", "fronds-2": "fronds-1"}
    found = damaged(label, r"fronds-[12]", lambda m: swap[m[0]], count=0)
    assert any("titled" in line for line in found)


def test_levels_that_swap_ids_alone_are_seen(label):
    swap = {"fronds-1": "fronds-2", "fronds-2": "fronds-1"}
    found = damaged(label, r'(?<=<g id=")fronds-[12]', lambda m: swap[m[0]], count=0)
    assert any("has the id" in line for line in found)


def test_levels_that_swap_colours_are_seen(label):
    swap = {"#0072b2": "#d55e00", "#d55e00": "#0072b2"}
    found = damaged(label, r"#(?:0072b2|d55e00)", lambda m: swap[m[0]], count=0)
    assert any("painted" in line for line in found)


def test_levels_that_swap_paths_are_seen(label):
    first, second = re.findall(r'd="([^"]*)"', label[2].decode())[:2]
    swap = {first: second, second: first}
    assert damaged(label, r'(?<=d=")[^"]*', lambda m: swap.get(m[0], m[0]), count=0)


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("#009e73", "#009e74", "painted"),
        ('fill-rule="evenodd"', 'fill-rule="nonzero"', "painted"),
        ('fill="#009e73" .{19} stroke="none"', 'fill="none" stroke="#009e73"', "painted"),
        ('width="80mm"', 'width="81mm"', "page measures"),
        ('width="80mm"', 'width="80"', "page is"),
        ('viewBox="0 0', 'viewBox="1 0', "page measures"),
        (r'id="disc"', 'id="frond"', "carry the id 'frond'"),
        (r'  <g id="name">.*?</g>\n', "", "layer name is missing"),
        (r'    <path id="disc".*?/>\n', "", "disc is missing"),
        (r'(    <path id="disc")(.*?/>\n)', r'\1\2    <path id="b"\2', "path b was not meant"),
        (r'(  <g id="name")(.*?</g>\n)', r'\1\2  <g id="name2"\2', "layer name was not meant"),
        (r"L24 46 ", "", "length"),
        (r"M40 46 L44 49", "M40.001 46 L44.001 49", "lines"),
        (r"M40 46 L44 49", "M40 46 L44 49 M41 46 L41 46.3", "lines"),
        (r'<path id="disc"', '<path style="fill:red" id="disc"', "unexpected attribute 'style'"),
        (r'<path id="disc"', '<path transform="scale(2)" id="disc"', "'transform'"),
        (r"</svg>", '<rect width="3" height="3"/></svg>', "unexpected element"),
        (r"M40 46 L44 49", "m40 46 L44 49", "unexpected path data"),
        (r"M40 46 L44 49", "M4e1 46 L44 49", "unexpected path data"),
        (r"</svg>", "", "no XML"),
    ],
)  # fmt: skip
def test_damage_is_seen(label, old, new, says):
    assert says in " ".join(damaged(label, old, new))


def test_a_moved_path_is_seen():
    artwork = one(MultiPolygon([box(3, 3, 5, 7)]))
    data = svg_bytes(artwork, colours={"a": "#0072b2"})
    text = data.decode().replace("M3 3 L3 7 L5 7 L5 3", "M3.001 3 L3.001 7 L5.001 7 L5.001 3")
    found = disagreements(artwork, {"a": "#0072b2"}, text.encode())
    assert any("centre of gravity is off by 0.001 mm" in line for line in found)


def test_a_dot_that_moved_within_a_large_path_is_seen():
    # its area is far below what rounding of all the other edges may change
    combs = [box(x / 4, 0, x / 4 + 0.05, 90) for x in range(300)]
    artwork = one(MultiPolygon([*combs, box(80, 50, 80.04, 50.04)]))
    data = svg_bytes(artwork, colours={"a": "#0072b2"})
    assert disagreements(artwork, {"a": "#0072b2"}, data) == ()
    text = data.decode()
    dot = "\nM80 50 L80 50.04 L80.04 50.04 L80.04 50 Z"
    assert dot in text
    for other in ("", dot.replace("M80 50 L80 50.04", "M80 50 L80 50.05")):
        changed = text.replace(dot, other).encode()
        assert any("rings" in line for line in disagreements(artwork, {"a": "#0072b2"}, changed))


def test_rounding_that_joins_rings_is_no_disagreement():
    # two squares 0.00001 mm apart fall together on the grid
    artwork = one(MultiPolygon([box(1, 1, 2, 2), box(2.00001, 1, 3, 2)]))
    data = svg_bytes(artwork, colours={"a": "#0072b2"})
    assert disagreements(artwork, {"a": "#0072b2"}, data) == ()


def test_what_is_below_the_grid_may_vanish():
    artwork = one(MultiPolygon([box(1, 1, 1.00002, 1.00002)]), MultiPolygon([box(3, 3, 4, 4)]))
    data = svg_bytes(artwork, colours={"a": "#0072b2"})
    assert len(etree.fromstring(data).findall(".//{*}path")) == 1
    assert disagreements(artwork, {"a": "#0072b2"}, data) == ()


def one(*areas) -> Artwork:
    return Artwork(
        page=Page(width=100.0, height=100.0),
        shapes=tuple(shape(f"s{i}", "a", Operation.ENGRAVE, a) for i, a in enumerate(areas)),
        layers=(Layer(name="a", operation=None, settings={}),),
    )


rays = st.lists(st.floats(0.2, 10), min_size=3, max_size=24)


@settings(max_examples=60, deadline=None)
@given(st.lists(rays, min_size=1, max_size=3), st.integers(1, 6), st.floats(-9, 9))
def test_random_stars_come_back_at_any_number_of_decimals(stars, decimals, left):
    areas = []
    for i, star in enumerate(stars):
        turns = np.linspace(0, 2 * np.pi, len(star), endpoint=False)
        points = np.column_stack([np.cos(turns), np.sin(turns)]) * np.array(star)[:, None]
        areas.append(MultiPolygon([Polygon(points + np.array([20 + 25 * i, 20.123456789]))]))
    artwork = replace(
        one(*areas),
        drawing=Drawing(decimals=decimals),
        page=Page(width=90.0, height=40.0, left=left, top=-left),
    )
    data = svg_bytes(artwork, colours={"a": "#0072b2"})
    assert disagreements(artwork, {"a": "#0072b2"}, data) == ()


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_any_changed_coordinate_is_seen(data):
    artwork = one(MultiPolygon([Point(20, 20).buffer(5, 6), box(40, 40, 41, 44)]))
    text = svg_bytes(artwork, colours={"a": "#0072b2"}).decode()
    begin = text.index(' d="')
    spots = [m.start() + 1 for m in re.finditer(r"[ML ]\d", text) if m.start() > begin + 3]
    at = data.draw(st.sampled_from(spots))
    number = re.match(r"[\d.]+", text[at:])[0]
    step = data.draw(st.sampled_from([-0.5, -0.05, 0.05, 0.5]))
    changed = f"{text[:at]}{float(number) + step:.4f}".rstrip("0") + text[at + len(number) :]
    assert disagreements(artwork, {"a": "#0072b2"}, changed.encode())


def test_a_gap_that_touching_rings_enclose_stays_empty():
    # four unit squares meet corner to corner around a gap as large as they are
    squares = [box(1, 0, 2, 1), box(0, 1, 1, 2), box(2, 1, 3, 2), box(1, 2, 2, 3)]
    artwork = one(MultiPolygon(squares))
    data = svg_bytes(artwork, colours={"a": "#0072b2"})
    assert read_back_shapes(data)["a"].area == 4


def test_rings_that_a_coarse_grid_makes_touch_are_no_disagreement():
    # on a grid of 0.1 mm the bent strip falls apart into pieces that touch in points
    strip = Polygon([(0, 0), (4, 0.13), (8, 0), (8, 0.02), (4, 0.17), (0, 0.3)])
    artwork = replace(one(MultiPolygon([strip])), drawing=Drawing(decimals=1))
    data = svg_bytes(artwork, colours={"a": "#0072b2"})
    assert disagreements(artwork, {"a": "#0072b2"}, data) == ()


@pytest.mark.parametrize("number", range(5))
def test_each_of_many_paths_is_compared(monkeypatch, number):
    """Seeds in a row: one corner of one of them is moved by half a millimetre."""
    monkeypatch.setattr("preprocess.write.verify.readback._AT_ONCE", 2)
    monkeypatch.setattr("preprocess.write.verify.expected._AT_ONCE", 3)
    seeds = [MultiPolygon([box(4 * n + 1, 2, 4 * n + 3, 4)]) for n in range(5)]
    artwork = Artwork(
        page=Page(width=20.0, height=20.0),
        shapes=tuple(shape(f"s{n}", "dots", Operation.ENGRAVE, s) for n, s in enumerate(seeds)),
        layers=(Layer(name="dots", operation=Operation.ENGRAVE, settings={}),),
    )
    data = svg_bytes(artwork, colours={"dots": "#0072b2"})
    assert disagreements(artwork, {"dots": "#0072b2"}, data) == ()
    corner = f"L{4 * number + 3} 4 ".encode()
    assert data.count(corner) == 1
    found = disagreements(
        artwork, {"dots": "#0072b2"}, data.replace(corner, f"L{4 * number + 3} 4.5 ".encode())
    )
    # a triangle of 2 mm by 0.5 mm is added to 4 mm²
    assert f"layer dots: s{number}: area 4.5 mm² instead of 4 mm²" in found
    assert {text.split(":")[1] for text in found} == {f" s{number}"}
