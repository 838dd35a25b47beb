"""Gradients by the recipe's policy: borders and areas worked out by hand."""

import math

import pytest
import shapely

from preprocess.errors import UserError
from preprocess.model.artwork.artwork import Drawing
from preprocess.model.artwork.settings import Operation
from preprocess.model.artwork.source import Selection
from preprocess.model.options.reading import LayerRule
from preprocess.model.options.shades import Shades
from preprocess.recipe.load import load_recipe
from tests.read.reading import codes, painted, read_sheet

STOPS = '<stop stop-color="#000"/><stop offset="1" stop-color="#fff"/>'
BANDS = Shades(bands=4)


def linear(attributes="", stops=STOPS, shape='<rect id="wing" width="80" height="10"/>'):
    shape = shape.replace("/>", ' fill="url(#g)"/>')
    return f'<linearGradient id="g" {attributes}>{stops}</linearGradient>{shape}'


def radial(attributes="", stops=STOPS, shape='<rect id="moon" width="100" height="100"/>'):
    return linear(attributes, stops, shape).replace("linearGradient", "radialGradient")


def by_level(body, shades=BANDS, **wanted):
    shapes = read_sheet(body, shades=shades, **wanted).artwork.shapes
    return {shape.level: shape.geometry for shape in shapes}


def boxes(body, shades=BANDS):
    return {level: area.bounds for level, area in by_level(body, shades).items()}


def test_a_linear_gradient_is_cut_at_the_middles_between_its_tones():
    """Darkness 1 − x/80; four powers and bare page: borders at 7/8, 5/8, 3/8, 1/8."""
    assert boxes(linear()) == {
        1: (0, 0, 10, 10), 2: (10, 0, 30, 10), 3: (30, 0, 50, 10), 4: (50, 0, 70, 10),
    }  # fmt: skip


def test_powers_follow_darkness():
    (layer,) = read_sheet(linear(), shades=BANDS).artwork.layers
    assert layer.shares == (1, 0.75, 0.5, 0.25)


def test_bands_share_their_edges_bit_for_bit():
    body = linear('gradientTransform="rotate(30)"', shape='<circle cx="40" cy="40" r="33"/>')
    parts = [part for area in by_level(body, Shades(bands=8)).values() for part in area.geoms]
    assert shapely.coverage_is_valid(parts)
    whole = painted(read_sheet(body))
    assert sum(part.area for part in parts) < whole.area
    assert shapely.union_all(parts).within(whole.buffer(1e-9))


def test_mean_darkness_is_kept_but_for_the_ends():
    """Σ share × area is that of the gradient, ½ × 800 mm²: tones are rounded both ways alike."""
    shares = (1, 0.75, 0.5, 0.25)
    areas = by_level(linear())
    assert sum(shares[level - 1] * area.area for level, area in areas.items()) == pytest.approx(400)


def test_a_threshold_marks_the_dark_part():
    (shape,) = read_sheet(linear(), shades=Shades(threshold=0.5)).artwork.shapes
    assert shape.geometry.bounds == (0, 0, 40, 10)
    assert shape.level is None


def test_solid_marks_all_and_says_so():
    reading = read_sheet(linear())
    assert painted(reading).area == 800
    (finding,) = (f for f in reading.findings if f.code == "gradient-as-solid")
    assert "wing (line 1; #000000 to #ffffff)" in finding.message
    assert "shades: {bands: 4}" in finding.remedy


USER = 'gradientUnits="userSpaceOnUse" x2="40"'


@pytest.mark.parametrize(
    ("attributes", "spans"),
    [
        (USER, [(0, 20)]),
        (USER + ' spreadMethod="repeat"', [(0, 20), (40, 60)]),
        (USER + ' spreadMethod="reflect"', [(0, 20), (60, 80)]),
        ('x1="50%" x2="100%"', [(0, 60)]),
        ('x1="100%" x2="0"', [(40, 80)]),
        ('gradientTransform="translate(.25) scale(.5 1)"', [(0, 40)]),
        (USER + ' gradientTransform="translate(10)"', [(0, 30)]),
        (USER + ' gradientTransform="skewX(45)" y1="0" x1="0"', [(0, 30)]),
    ],
)
def test_where_a_linear_gradient_lies(attributes, spans):
    area = by_level(linear(attributes), Shades(threshold=0.5))[None]
    found = [part.bounds[i] for part in area.geoms for i in (0, 2)]
    assert found == pytest.approx([end for span in spans for end in span])


def test_stops_and_space_come_through_href():
    body = (
        f'<linearGradient id="a" {USER}>{STOPS}</linearGradient>'
        '<linearGradient id="b" href="#a" x1="20"/>'
        '<rect width="80" height="10" fill="url(#b)"/>'
    )
    assert by_level(body, Shades(threshold=0.5))[None].bounds == (0, 0, 30, 10)


def test_opacity_of_stops_counts():
    stops = '<stop stop-color="#000"/><stop offset="1" stop-opacity="0"/>'
    assert boxes(linear(stops=stops))[1] == (0, 0, 10, 10)


def test_colour_and_opacity_together_follow_a_parabola():
    """Black to white while fading: darkness (1 − u)², half at u = 1 − √½."""
    stops = '<stop/><stop offset="1" stop-color="#fff" stop-opacity="0"/>'
    area = by_level(linear(stops=stops), Shades(threshold=0.5))[None]
    assert area.bounds[2] == pytest.approx(80 * (1 - math.sqrt(0.5)))


def test_opacity_of_the_element_counts():
    """Black at half opacity: darkness ½ (1 − x/80) is a quarter at 40."""
    body = linear(shape='<rect width="80" height="10" fill-opacity=".8" opacity=".625"/>')
    assert by_level(body, Shades(threshold=0.25))[None].bounds[2] == pytest.approx(40)


def test_a_hard_edge_between_stops():
    stops = '<stop offset=".25"/><stop offset=".25" stop-color="#fff"/>'
    assert by_level(linear(stops=stops))[1].bounds == (0, 0, 20, 10)
    assert painted(read_sheet(linear(stops=stops))).bounds == (0, 0, 20, 10)


def test_solid_leaves_out_what_is_wholly_clear():
    """A black disc that ends: beyond it the page shows, whatever the policy."""
    stops = '<stop/><stop offset=".5"/><stop offset=".5" stop-opacity="0"/>'
    assert painted(read_sheet(radial(stops=stops))).area == pytest.approx(math.pi * 625, rel=1e-3)


def test_a_radial_gradient_is_cut_along_circles():
    """r = 50: darkness 1 − d/50, so the discs have 1/8, 3/8, 5/8 and 7/8 of that radius."""
    rings = [(0, 1), (1, 3), (3, 5), (5, 7)]
    expected = {
        level: math.pi * (50 / 8) ** 2 * (outer**2 - inner**2)
        for level, (inner, outer) in enumerate(rings, 1)
    }
    found = by_level(radial(), drawing=Drawing(tolerance=1e-4))
    assert {level: area.area for level, area in found.items()} == pytest.approx(expected, rel=1e-4)


def test_a_radial_gradient_on_a_wide_box_is_cut_along_ellipses():
    body = radial(shape='<rect width="80" height="40"/>')
    area = by_level(body, Shades(threshold=0.5), drawing=Drawing(tolerance=1e-4))[None]
    assert area.area == pytest.approx(math.pi * 20 * 10, rel=1e-4)
    assert area.bounds == pytest.approx((20, 10, 60, 30), abs=1e-3)


def test_a_focus_moves_the_circles():
    """At offset ½ the circle lies half-way between focus and centre, with half the radius."""
    body = radial('gradientUnits="userSpaceOnUse" cx="50" cy="50" r="40" fx="30"')
    area = by_level(body, Shades(threshold=0.5), drawing=Drawing(tolerance=1e-4))[None]
    assert area.bounds == pytest.approx((20, 30, 60, 70), abs=1e-3)


def test_a_focus_outside_opens_a_wedge():
    """Focus 50 left of a circle of 30: sides of slope 30 : 40, so 40 from the focus the wedge is
    2 · 40 · ¾ high. What no circle passes is not marked, whatever the policy."""
    body = radial(
        'gradientUnits="userSpaceOnUse" cx="60" cy="50" r="30" fx="10"',
        '<stop/><stop offset="1" stop-color="#333"/>',
        '<rect x="5" y="0" width="45" height="100"/>',
    )
    area = painted(read_sheet(body))
    assert area.area == pytest.approx(40 * 40 * 0.75)
    assert area.bounds == pytest.approx((10, 20, 50, 80))


def test_of_two_circles_through_a_place_the_later_shows():
    """Offset ½ is a circle of 15 about (35, 50); its sides touch 20 from the focus. The dark part
    is the kite from focus to circle without the sector that faces the focus: 20 · 15 less
    15² · (90° − half the wedge)."""
    body = radial(
        'gradientUnits="userSpaceOnUse" cx="60" cy="50" r="30" fx="10"',
        shape='<rect width="90" height="100"/>',
    )
    area = by_level(body, Shades(threshold=0.5), drawing=Drawing(tolerance=1e-4))[None]
    sector = 15**2 * (math.pi / 2 - math.asin(30 / 50))
    assert area.area == pytest.approx(20 * 15 - sector, rel=1e-4)
    assert area.bounds == pytest.approx((10, 38, 26, 62), abs=1e-3)


def test_a_first_radius():
    """From a circle of 10 to one of 30: half-way lies 20; inside 10 all is black."""
    body = radial('gradientUnits="userSpaceOnUse" cx="50" cy="50" r="30" fr="10"')
    area = by_level(body, Shades(threshold=0.5), drawing=Drawing(tolerance=1e-4))[None]
    assert area.area == pytest.approx(math.pi * 400, rel=1e-4)


def test_repeated_rings():
    """Black to white every 10 mm: rings 0…5, 10…15, 20…25 … of a disc of 30."""
    body = radial(
        'gradientUnits="userSpaceOnUse" cx="50" cy="50" r="10" spreadMethod="repeat"',
        shape='<circle cx="50" cy="50" r="30"/>',
    )
    area = by_level(body, Shades(threshold=0.5), drawing=Drawing(tolerance=1e-4))[None]
    assert area.area == pytest.approx(math.pi * (25 + 125 + 225), rel=1e-3)


def test_too_many_repeats_stay_solid():
    reading = read_sheet(
        linear('gradientUnits="userSpaceOnUse" x2=".01" spreadMethod="repeat"'), shades=BANDS
    )
    assert "too-many-shades" in codes(reading)
    assert painted(reading).area == 800


def test_one_place_for_both_ends_means_the_last_stop():
    assert by_level(linear('x1="50%" x2="50%"'), Shades(threshold=0.5)) == {}
    reversed_ = '<stop stop-color="#fff"/><stop offset="1"/>'
    assert by_level(linear('x1="50%" x2="50%"', reversed_), Shades(threshold=0.5))


def test_the_opaque_light_part_hides_what_lies_under_it():
    body = '<rect width="100" height="100"/>' + linear()
    areas = [s.geometry.area for s in read_sheet(body, shades=Shades(threshold=0.5)).artwork.shapes]
    assert areas == [10_000 - 400, 400]


def test_the_clear_light_part_hides_nothing():
    stops = '<stop/><stop offset="1" stop-opacity="0"/>'
    body = '<rect width="100" height="100"/>' + linear(stops=stops)
    areas = [s.geometry.area for s in read_sheet(body, shades=Shades(threshold=0.5)).artwork.shapes]
    assert areas == [10_000, 400]


def test_flat_fills_follow_when_asked():
    body = (
        '<rect width="10" height="10" fill="#ccc"/><rect y="20" width="10" height="10"/>'
        '<rect y="40" width="10" height="10" fill="#000" opacity=".5"/>'
    )
    shades = Shades(threshold=0.4, flat_fills=True)
    reading = read_sheet(body, shades=shades)
    assert [s.geometry.bounds[1] for s in reading.artwork.shapes] == [20, 40]
    assert "shade-too-light" in codes(reading)
    levels = [
        s.level for s in read_sheet(body, shades=Shades(bands=4, flat_fills=True)).artwork.shapes
    ]
    assert levels == [4, 1, 3]
    assert len(read_sheet(body, shades=Shades(threshold=0.4)).artwork.shapes) == 3


def test_a_dark_page_turns_darkness_round():
    drawing = Drawing(page_colour="#000000")
    assert by_level(linear(), Shades(threshold=0.5), drawing=drawing)[None].bounds == (
        40,
        0,
        80,
        10,
    )


def test_lines_stay_solid_and_say_so():
    body = linear(shape='<path d="M0 5H80V6" fill="none" stroke="url(#g)"/>').replace(
        ' fill="url(#g)"/>', "/>"
    )
    reading = read_sheet(body, shades=BANDS)
    assert "gradient-as-solid" in codes(reading)
    assert [s.level for s in reading.artwork.shapes] == [None]


def test_an_area_to_cut_keeps_one_outline():
    layers = (LayerRule(name="edge", operation=Operation.CUT, choose=Selection(select="#wing")),)
    (shape,) = read_sheet(linear(), shades=BANDS, layers=layers).artwork.shapes
    assert shape.geometry.length == 180


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("solid", Shades()),
        ("{bands: 3}", Shades(bands=3)),
        ("{threshold: 40 %, flat_fills: true}", Shades(threshold=0.4, flat_fills=True)),
    ],
)
def test_the_recipe_says_it(text, expected):
    assert load_recipe(None, f"recipe: 1\nshades: {text}\n").options.shades == expected


@pytest.mark.parametrize(
    "text",
    ["{bands: 3, threshold: 40 %}", "{flat_fills: true}", "{bands: 1}", "bands", "{bands: 9}"],
)
def test_the_recipe_refuses(text):
    with pytest.raises(UserError):
        load_recipe(None, f"recipe: 1\nshades: {text}\n")
