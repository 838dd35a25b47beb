from __future__ import annotations

import io
import re
from dataclasses import replace

import numpy as np
import pytest
import resvg_py
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree
from PIL import Image
from shapely import LineString, MultiLineString, MultiPolygon, Polygon, box

from preprocess.model.artwork.artwork import Artwork, Drawing, Page
from preprocess.model.artwork.output import output_layers
from preprocess.model.artwork.settings import Layer, Operation
from preprocess.write.svg.layer_colours import assign_colours
from preprocess.write.svg.svg_document import svg_bytes
from tests.labels import dotted_disc, fern_label, shape

NS = {"s": "http://www.w3.org/2000/svg"}


def written(artwork, **more):
    colours, _ = assign_colours(output_layers(artwork, **more), {}, None)
    return svg_bytes(artwork, colours=colours, **more)


def single(geometry, operation=Operation.ENGRAVE, *, name="a", layer="dots", page=None, **more):
    return Artwork(
        page=page or Page(width=20.0, height=20.0),
        shapes=(shape(name, layer, operation, geometry, **more),),
        layers=(Layer(name=layer, operation=operation, settings={}),),
    )


def path_data(data):
    return [p.get("d") for p in etree.fromstring(data).findall(".//s:path", NS)]


def test_the_whole_text_of_a_small_drawing():
    square = MultiPolygon([box(1, 2, 3, 4) - box(1.5, 2.5, 2, 3)])
    assert written(single(square)).decode() == (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        '<svg xmlns="http://www.w3.org/2000/svg" version="1.1"'
        ' width="20mm" height="20mm" viewBox="0 0 20 20">\n'
        '  <g id="dots">\n'
        "    <title>dots</title>\n"
        '    <path id="a" fill="#0072b2" fill-rule="evenodd" stroke="none"'
        ' d="M1 2 L1 4 L3 4 L3 2 Z\nM1.5 2.5 L2 2.5 L2 3 L1.5 3 Z"/>\n'
        "  </g>\n"
        "</svg>\n"
    )


def test_lines_keep_their_order_and_say_whether_they_close():
    lines = MultiLineString([[(5, 5), (1, 1)], [(2, 2), (4, 2), (4, 4), (2, 2)], [(9, 9), (8, 9)]])
    data = written(single(lines, Operation.SCORE))
    assert path_data(data) == ["M5 5 L1 1 M2 2 L4 2 L4 4 Z M9 9 L8 9"]
    assert b'fill="none" stroke="#0072b2" stroke-width="0.1"' in data


def test_open_lines_stay_open_however_many_points_they_have():
    lines = MultiLineString([[(1, 1), (2, 1), (2, 2), (3, 2), (3, 3)], [(5, 5), (6, 5), (5, 5)]])
    found = path_data(written(single(lines, Operation.SCORE)))
    assert found == ["M1 1 L2 1 L2 2 L3 2 L3 3 M5 5 L6 5 L5 5"]


def test_rings_that_begin_at_one_vertex_follow_their_second():
    left, right = [(5, 0), (2, 3), (4, 3)], [(5, 0), (6, 3), (8, 3)]
    low = [(5, 0), (4.5, 3), (5.5, 3)]
    for order in ((left, low, right), (right, left, low)):
        area = MultiPolygon([Polygon(ring) for ring in order])
        (found,) = path_data(written(single(area)))
        assert found.split(" M") == ["M5 0 L2 3 L4 3 Z", "5 0 L4.5 3 L5.5 3 Z", "5 0 L6 3 L8 3 Z"]


def test_an_area_to_score_is_traced():
    data = written(single(MultiPolygon([box(1, 1, 2, 2)]), Operation.SCORE))
    (d,) = path_data(data)
    assert d.count("M") == 1
    assert d.endswith("Z")
    assert b'fill="none"' in data


def test_a_line_to_engrave_is_refused():
    with pytest.raises(ValueError, match="a: a line cannot be engraved"):
        written(single(MultiLineString([[(0, 0), (1, 1)]])))


def test_the_page_begins_at_nought():
    page = Page(width=30.0, height=20.0, left=-5.0, top=2.5)
    data = written(single(MultiPolygon([box(0, 4, 1, 5)]), page=page))
    assert path_data(data) == ["M5 1.5 L5 2.5 L6 2.5 L6 1.5 Z"]


def test_bars_stand_in_the_path_of_their_shape():
    (first, *_) = path_data(written(fern_label()))
    assert first.count("M") == 8
    assert "M5 20 L5 40 L5.6 40 L5.6 20 Z" in first


def test_outer_rings_run_counter_clockwise_as_seen():
    # by hand: on paper the first quarter of a counter-clockwise turn from the top goes left
    (d,) = path_data(written(single(dotted_disc(10, 10))))
    rings = [
        np.array(re.findall(r"[\d.]+", ring), float).reshape(-1, 2) for ring in d.split("M")[1:]
    ]
    assert [ring[0].tolist() for ring in rings] == [[10, 7], [10, 8], [10, 9.4]]
    assert rings[0][1, 0] < 10  # outer
    assert rings[1][1, 0] > 10  # hole
    assert rings[2][1, 0] < 10  # island


def test_nonzero_and_evenodd_paint_the_same():
    data = written(fern_label())
    other = data.replace(b"evenodd", b"nonzero")
    assert data != other
    assert pixels(data).tobytes() == pixels(other).tobytes()


def pixels(data: bytes) -> np.ndarray:
    png = resvg_py.svg_to_bytes(svg_string=data.decode(), dpi=96, width=4000, background="#ffffff")
    return np.asarray(Image.open(io.BytesIO(bytes(png))).convert("RGB"))


@pytest.mark.parametrize(("layer", "level"), [("fronds", 1), ("fronds", 2), ("dots", None)])
def test_a_renderer_paints_the_areas_of_the_artwork(layer, level):
    artwork = fern_label()
    outputs = output_layers(artwork)
    chosen = [o.id for o in outputs if (o.layer, o.level) == (layer, level)]
    colours = {o.id: "#000000" if o.id in chosen else "#ffffff" for o in outputs}
    image = pixels(svg_bytes(artwork, colours=colours))
    painted = (1 - image.mean(axis=2) / 255).sum() * (80 / image.shape[1]) ** 2
    meant = sum(
        s.geometry.area + (s.bars.area if s.bars is not None else 0)
        for s in artwork.shapes
        if (s.layer, s.level) == (layer, level)
    )
    assert painted == pytest.approx(meant, rel=0.003)


def test_the_dialect_holds_nothing_else():
    root = etree.fromstring(written(fern_label(), guides=True))
    tags = {etree.QName(node).localname for node in root.iter()}
    assert tags == {"svg", "g", "title", "path"}
    names = {name for node in root.iter() for name in node.attrib}
    assert not names & {"style", "class", "transform", "href"}
    for path in root.findall(".//s:path", NS):
        assert re.fullmatch(r"(M[\d. -]+( L[\d. -]+)+( Z)?\s?)+", path.get("d"))


def test_guides_are_written_only_when_asked_for():
    assert b"helpers" not in written(fern_label())
    assert b'<g id="helpers">' in written(fern_label(), guides=True)


def test_layers_in_order_and_empty_ones_left_out():
    artwork = fern_label()
    empty = shape("none", "dots", Operation.ENGRAVE, MultiPolygon())
    artwork = replace(artwork, shapes=(*(s for s in artwork.shapes if s.layer != "dots"), empty))
    root = etree.fromstring(written(artwork))
    assert [g.get("id") for g in root.findall("s:g", NS)] == ["fronds-1", "fronds-2", "name"]


def test_ids_are_unique_and_titles_keep_the_name():
    artwork = fern_label()
    odd = 'dots & "holes" <2>'
    artwork = replace(
        artwork,
        shapes=tuple(replace(s, layer=odd) if s.layer == "dots" else s for s in artwork.shapes),
        layers=tuple(replace(la, name=odd) if la.name == "dots" else la for la in artwork.layers),
    )
    root = etree.fromstring(written(artwork))
    ids = [node.get("id") for node in root.iter() if node.get("id")]
    assert ids == [
        "fronds-1",
        "frond",
        "fronds-2",
        "frond-2",
        "dots-holes-2",
        "disc",
        "name",
        "name-2",
    ]
    assert [t.text for t in root.findall(".//s:title", NS)][2] == odd


def test_same_artwork_same_bytes():
    assert written(fern_label()) == written(fern_label())
    assert b"\r" not in written(fern_label())


def test_the_start_of_a_ring_does_not_depend_on_the_drawing():
    corners = [(1, 1), (5, 1), (5, 4), (1, 4)]
    texts = {
        tuple(path_data(written(single(MultiPolygon([Polygon(turned)])))))
        for i in range(4)
        for turned in (corners[i:] + corners[:i], (corners[i:] + corners[:i])[::-1])
    }
    assert texts == {("M1 1 L1 4 L5 4 L5 1 Z",)}


def test_decimals_of_the_drawing_are_used():
    artwork = replace(single(MultiPolygon([box(1.23456, 1, 2, 2)])), drawing=Drawing(decimals=2))
    assert path_data(written(artwork)) == ["M1.23 1 L1.23 2 L2 2 L2 1 Z"]


def test_rounding_that_folds_a_sliver_is_mended():
    # the needle is thinner than the grid: rounded vertex by vertex its two sides fall together
    needle = Polygon([(0, 0), (4, 0), (4, 1), (8, 1.00001), (4, 1.00002), (4, 5), (0, 5)])
    artwork = single(MultiPolygon([needle]))
    (d,) = path_data(written(artwork))
    rings = [np.array(re.findall(r"[\d.]+", r), float).reshape(-1, 2) for r in d.split("M")[1:]]
    assert all(Polygon(ring).is_valid for ring in rings)
    assert sum(Polygon(ring).area for ring in rings) == pytest.approx(20.0, abs=1e-3)


def test_a_line_below_the_grid_is_left_out():
    lines = MultiLineString([LineString([(1, 1), (1.00001, 1)]), LineString([(1, 1), (2, 1)])])
    assert path_data(written(single(lines, Operation.SCORE))) == ["M1 1 L2 1"]


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(st.floats(-50, 50), st.floats(-50, 50), st.floats(0.05, 9), st.integers(3, 9)),
        min_size=1,
        max_size=6,
    )
)
def test_written_rings_are_the_area(discs):
    area = shapely.union_all([shapely.Point(x, y).buffer(r, n) for x, y, r, n in discs])
    area = area if area.geom_type == "MultiPolygon" else MultiPolygon([area])
    (d,) = path_data(written(single(area, page=Page(width=100, height=100, left=-50, top=-50))))
    total = 0.0
    for ring in d.split("M")[1:]:
        points = np.array(re.findall(r"-?[\d.]+", ring), float).reshape(-1, 2)
        x, y = points.T
        assert (y[0], x[0]) == min(zip(y, x, strict=True))
        total -= (x * np.roll(y, -1) - np.roll(x, -1) * y).sum() / 2
    assert total == pytest.approx(area.area, abs=1e-4 * area.length)


def test_many_shapes_are_written_like_each_by_itself(monkeypatch):
    """Rings are sorted within a shape: seeds and a holed leaf whose places are mixed."""
    monkeypatch.setattr("preprocess.write.svg.svg_document._AT_ONCE", 3)
    areas = [
        MultiPolygon([box(6, 8, 7, 9), box(1, 2, 3, 4) - box(1.5, 2.5, 2, 3)]),
        MultiPolygon([box(0, 0, 1e-5, 1e-5)]),  # below the grid, so that it has no path
        MultiPolygon([box(4, 1, 5, 2)]),
        MultiPolygon([box(8, 0, 9, 1) - box(8.2, 0.2, 8.4, 0.4), box(0, 0, 1, 1)]),
        MultiPolygon([box(2, 6, 3, 7)]),
    ]
    shapes = [shape(f"s{n}", "dots", Operation.ENGRAVE, area) for n, area in enumerate(areas)]
    artwork = replace(single(areas[0]), shapes=tuple(shapes))
    alone = [data for area in areas for data in path_data(written(single(area)))]
    assert path_data(written(artwork)) == alone
