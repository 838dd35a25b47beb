"""Layers, labels, sources, silhouettes and knock-outs."""

import pytest
import shapely

from preprocess.geometry.lines.stroking import outline_stroke
from preprocess.model.artwork.artwork import Drawing
from preprocess.model.artwork.settings import Operation, Settings
from preprocess.model.artwork.source import Selection
from preprocess.model.bench.part import Part
from preprocess.model.options.reading import LayerRule
from tests.read.reading import codes, painted, read_sheet

LABEL = (
    '<g xmlns:e="urn:editor" id="layer1" e:label="Fronds"><g id="inner">'
    '<rect id="a" width="10" height="10"/></g></g>'
    '<g id="veins"><path id="b" d="M0 50H90" stroke="#D06000"/></g>'
    '<circle id="c" class="helper" cx="50" cy="50" r="10" fill="tomato"/>'
)


def rule(name, operation=Operation.ENGRAVE, *, settings=Settings(), **choose):  # noqa: B008
    return LayerRule(name=name, operation=operation, choose=Selection(**choose), settings=settings)


def test_label_goes_before_id_of_a_nearer_group():
    a, b, c = read_sheet(LABEL).artwork.shapes
    assert [s.sources[0].label for s in (a, b, c)] == ["Fronds", "veins", None]


def test_sources_hold_id_line_and_computed_colour():
    shapes = read_sheet(LABEL).artwork.shapes
    assert [s.sources[0].id for s in shapes] == ["a", "b", "c"]
    assert [s.sources[0].colour for s in shapes] == ["#000000", "#d06000", "#ff6347"]
    assert {s.sources[0].line for s in shapes} == {1}


def test_without_rules_areas_are_engraved_and_lines_scored():
    reading = read_sheet(LABEL)
    assert [s.operation for s in reading.artwork.shapes] == ["engrave", "score", "engrave"]
    assert [layer.name for layer in reading.artwork.layers] == ["artwork"]
    assert "no-layers" in {f.code for f in reading.findings}


def test_the_first_rule_that_matches_wins():
    layers = (
        rule("fronds", label="Fronds"),
        rule("rest", Operation.SCORE, select="rect, path"),
        rule("helpers", Operation.GUIDE, select=".helper"),
    )
    artwork = read_sheet(LABEL, layers=layers).artwork
    assert [(s.id, s.layer, s.operation) for s in artwork.shapes] == [
        ("a", "fronds", "engrave"),
        ("b", "rest", "score"),
        ("c", "helpers", "guide"),
    ]
    assert [layer.name for layer in artwork.layers] == ["fronds", "rest", "helpers"]


def test_a_selector_reaches_what_lies_in_a_group():
    layers = (rule("fronds", select="#layer1"),)
    reading = read_sheet(LABEL, layers=layers)
    assert [s.layer for s in reading.artwork.shapes] == ["fronds", "artwork", "artwork"]
    left = next(f for f in reading.findings if f.code == "no-layer-chosen")
    assert left.elements == ("b", "c")


def test_settings_are_laid_over_those_of_the_operation():
    settings = {Operation.ENGRAVE: Settings(power=0.5, speed=900)}
    layers = (rule("fronds", label="Fronds", settings=Settings(power=0.25)),)
    artwork = read_sheet(LABEL, layers=layers, settings=settings).artwork
    assert artwork.layer("fronds").of(Operation.ENGRAVE) == Settings(power=0.25, speed=900)
    assert artwork.layer("artwork").of(Operation.ENGRAVE) == Settings(power=0.5, speed=900)


def test_an_area_to_cut_gives_its_outline():
    body = '<path fill-rule="evenodd" d="M10 10H90V90H10ZM30 30H70V70H30Z"/>'
    (shape,) = read_sheet(body, layers=(rule("edge", Operation.CUT, select="path"),)).artwork.shapes
    assert not shape.is_area
    assert shape.geometry.length == pytest.approx(4 * 80 + 4 * 40)
    assert all(line.is_ring for line in shape.geometry.geoms)


def test_a_line_to_engrave_stays_a_line():
    body = '<path d="M10 10H90" stroke="#000"/>'
    (shape,) = read_sheet(body, layers=(rule("veins", select="path"),)).artwork.shapes
    assert not shape.is_area
    assert shape.operation is Operation.ENGRAVE


def test_a_rule_that_chooses_nothing_is_named():
    reading = read_sheet(LABEL, layers=(rule("moths", label="Moths"),))
    assert "empty-layer" in codes(reading)
    optional = rule("moths", label="Moths", optional=True)
    assert "empty-layer" not in codes(read_sheet(LABEL, layers=(optional,)))


def test_selectors_of_the_recipe_are_noted_on_sources():
    selectors = frozenset({"#inner rect", ".helper", "#gone"})
    a, b, c = read_sheet(LABEL, selectors=selectors).artwork.shapes
    assert [s.sources[0].selectors for s in (a, b, c)] == [
        {"#inner rect"}, set(), {".helper"},
    ]  # fmt: skip


def test_ids_of_shapes_are_unique():
    body = '<rect id="a" width="5" height="5" stroke="red"/><rect id="a" width="7" height="5"/>'
    ids = [shape.id for shape in read_sheet(body).artwork.shapes]
    assert len(set(ids)) == len(ids) == 3


def test_parts_and_keep_off_leave_the_artwork():
    body = (
        '<rect id="edge" x="10" y="10" width="60" height="40" fill="#fff" stroke="#000"/>'
        '<rect id="clip" width="5" height="5"/><rect x="20" y="20" width="9" height="9"/>'
    )
    artwork = read_sheet(body, parts=(Part(outline="#edge"),), keep_off=("#clip",)).artwork
    assert artwork.parts[0].bounds == (10, 10, 70, 50)
    assert artwork.keep_off[0].area == 25
    assert [shape.geometry.area for shape in artwork.shapes] == [81]


@pytest.mark.parametrize("how", ['display="none"', 'fill="none"', 'visibility="hidden"'])
def test_a_part_may_be_hidden_or_without_paint(how):
    body = f'<path id="edge" {how} d="M10 10H50V30H10"/><rect width="5" height="5"/>'
    artwork = read_sheet(body, parts=(Part(outline="#edge"),)).artwork
    assert artwork.parts[0].area == 800
    assert len(artwork.shapes) == 1


def test_a_white_part_does_not_knock_out():
    body = '<rect width="9" height="9"/><rect id="edge" width="50" height="50" fill="#fff"/>'
    artwork = read_sheet(body, parts=(Part(outline="#edge"),)).artwork
    assert painted(read_sheet(body, parts=(Part(outline="#edge"),))).area == 81
    assert artwork.parts[0].area == 2500


def test_a_part_given_by_numbers_is_centred_on_the_page():
    artwork = read_sheet('<rect width="5" height="5"/>', parts=(Part(outline=(40, 20)),)).artwork
    assert artwork.parts[0].bounds == (30, 40, 70, 60)


def test_white_takes_away_only_what_lies_under_it():
    body = (
        '<rect width="50" height="50"/><rect x="25" width="50" height="50" fill="#fff"/>'
        '<rect x="60" width="10" height="10"/>'
    )
    reading = read_sheet(body)
    assert [shape.geometry.area for shape in reading.artwork.shapes] == [1250, 100]
    assert "page-colour" not in codes(reading)


def test_white_with_nothing_under_it_is_named():
    reading = read_sheet(
        '<rect id="w" width="9" height="9" fill="white"/><rect x="20" width="9" height="9"/>'
    )
    (finding,) = (f for f in reading.findings if f.code == "page-colour")
    assert finding.elements == ("w",)


def test_what_white_covers_wholly_is_named():
    reading = read_sheet(
        '<rect id="a" width="9" height="9"/><rect width="10" height="10" fill="#fff"/>'
    )
    (finding,) = (f for f in reading.findings if f.code == "covered")
    assert finding.elements == ("a",)
    assert reading.artwork.shapes == ()


def test_another_page_colour():
    body = '<rect width="50" height="50" fill="#fff"/><rect width="25" height="50" fill="#0a0"/>'
    drawing = Drawing(page_colour="#00AA00")
    assert painted(read_sheet(body, drawing=drawing)).area == 1250


def test_thin_white_hides_nothing():
    body = '<rect width="50" height="50"/><rect width="25" height="50" fill="#fff" opacity=".2"/>'
    assert painted(read_sheet(body)).area == 2500


def test_a_white_stroke_knocks_out():
    body = '<rect width="50" height="50"/><path d="M0 25H50" stroke="#fff" stroke-width="10"/>'
    assert painted(read_sheet(body)).area == 2000


def test_a_stroke_half_under_white_keeps_its_other_half():
    """The centre line lies on the edge of the white: half of the width still shows."""
    body = (
        '<path id="v" d="M10 50H90" stroke="#000" stroke-width="4"/>'
        '<rect y="50" width="100" height="50" fill="#fff"/>'
    )
    (shape,) = read_sheet(body).artwork.shapes
    assert outline_stroke(shape.geometry, shape.stroke).area == pytest.approx(160, rel=1e-6)
    assert shape.geometry.length == pytest.approx(80, rel=1e-6)


def test_a_line_to_score_is_cut_where_white_begins():
    body = (
        '<path d="M10 50H90" stroke="#000" stroke-width="4"/>'
        '<rect x="40" y="40" width="20" height="20" fill="#fff"/>'
    )
    layers = (rule("veins", Operation.SCORE, select="path"),)
    (shape,) = read_sheet(body, layers=layers).artwork.shapes
    assert shape.geometry.length == pytest.approx(60)
    assert not shapely.box(40.1, 40.1, 59.9, 59.9).intersects(shape.geometry)


def test_a_slanting_stroke_at_a_clip_keeps_its_corners():
    """A 4 mm band at 45 degrees inside a square of 40: √2·4 wide along x, 40 high."""
    body = (
        '<clipPath id="k"><rect x="30" y="30" width="40" height="40"/></clipPath>'
        '<path d="M0 0L100 100" clip-path="url(#k)" stroke="#000" stroke-width="4" fill="none"/>'
    )
    # The square minus two right triangles with legs 40 − 2√2 each.
    expected = 40**2 - (40 - 2 * 2**0.5) ** 2
    assert painted(read_sheet(body)).area == pytest.approx(expected, rel=1e-6)


def test_a_cut_along_the_edge_of_the_page_stays():
    body = '<rect id="e" width="100" height="100" fill="none" stroke="red" stroke-width=".1"/>'
    reading = read_sheet(body, layers=(rule("edge", Operation.CUT, select="rect"),))
    assert reading.artwork.shapes[0].geometry.length == pytest.approx(400)
    assert "beyond-page" not in codes(reading)


def test_copies_through_use_have_names_of_their_own():
    uses = '<use id="l" href="#q"/><use href="#q" x="9"/>'
    body = f'<defs><rect id="q" width="5" height="5"/></defs>{uses}'
    ids = [shape.id for shape in read_sheet(body).artwork.shapes]
    assert ids == ["l/q", "svg/use[2]/q"]


NESTED = (
    '<g xmlns:e="urn:editor" e:groupmode="layer" e:label="Art"><rect id="a" width="9" height="9"/>'
    '<g e:label="leaves"><rect id="b" x="20" width="9" height="9"/></g></g>'
)


def test_a_label_chooses_what_lies_in_groups_inside_too():
    reading = read_sheet(NESTED, layers=(rule("art", label="Art"),))
    assert [s.layer for s in reading.artwork.shapes] == ["art", "art"]
    assert "no-layer-chosen" not in codes(reading)
    a, b = (shape.sources[0] for shape in reading.artwork.shapes)
    assert (a.layer, b.layer) == ("Art", "Art")
    assert (a.matches(Selection(label="leaves")), b.matches(Selection(label="leaves"))) == (
        False,
        True,
    )
    assert b.matches(Selection(label="Art"))


def test_the_label_of_the_nearer_group_goes_first_in_any_order_of_rules():
    rules = (rule("art", label="Art"), rule("leaves", label="leaves"))
    for layers in (rules, rules[::-1]):
        reading = read_sheet(NESTED, layers=layers)
        assert [s.layer for s in reading.artwork.shapes] == ["art", "leaves"]
