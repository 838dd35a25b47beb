"""Path data, colours, transforms and whole drawings against independent readers and renderers."""

import numpy as np
import pytest
import svgelements
from hypothesis import given, settings
from hypothesis import strategies as st

from preprocess.model.options.reading import ReadingOptions
from preprocess.read.reader import read
from preprocess.read.shapes.flatten import FlattenJob, flatten_paths
from preprocess.read.shapes.path_data import parse_path_data
from preprocess.read.style.colours import parse_colour
from preprocess.read.xml.affine import IDENTITY, parse_transform_list
from preprocess.read.xml.lengths import Units
from tests.comparing.agreement import agreement
from tests.comparing.flat import Flat
from tests.comparing.ours import drawn
from tests.read.reading import FIXTURES

NUMBER = st.floats(-50, 50).map(lambda value: f"{value:.3f}")
FLAG = st.sampled_from("01")


def command(letters, *parts):
    return st.tuples(st.sampled_from(letters), *parts).map(
        lambda one: f"{one[0]}{' '.join(one[1:])}"
    )


PATHS = st.lists(
    st.one_of(
        command("Ll", NUMBER, NUMBER),
        command("HhVv", NUMBER),
        command("Cc", *[NUMBER] * 6),
        command("CcSs", *[NUMBER] * 4).filter(lambda text: text[0] in "Ss"),
        command("Qq", *[NUMBER] * 4),
        command("Mm", NUMBER, NUMBER),
        command("Zz"),
        command("Aa", NUMBER, NUMBER, NUMBER, FLAG, FLAG, NUMBER, NUMBER),
    ),
    max_size=8,
).map(lambda parts: "M5 5" + "".join(parts))


@settings(max_examples=150, deadline=None)
@given(PATHS)
def test_the_ends_of_path_commands_agree(text):
    path, wrong = parse_path_data(text)
    assert wrong is None
    theirs = svgelements.Path(text)

    if text[-1] not in "Zz":
        end = theirs.current_point
        assert path.numbers[-2:] == pytest.approx([end.x, end.y], abs=1e-6)


ARCS = st.tuples(
    NUMBER, NUMBER, st.floats(1, 60), st.floats(1, 60), st.floats(-180, 180), FLAG, FLAG
).filter(lambda arc: abs(float(arc[0])) + abs(float(arc[1])) > 0.1)  # fmt: skip


@settings(max_examples=100, deadline=None)
@given(ARCS)
def test_flattened_arcs_lie_on_the_ellipse(arc):
    """Every point of an arc is as far from the others' centre as the ellipse says."""
    x, y, rx, ry, angle, large, sweep = arc
    text = f"M0 0A{rx} {ry} {angle} {large} {sweep} {x} {y}"
    theirs = svgelements.Path(text)[1]
    ((contour,),) = flatten_paths([FlattenJob(parse_path_data(text)[0], IDENTITY)], 0.001)
    turned = (contour.points - (theirs.center.x, theirs.center.y)) @ _turn(angle)
    distance = np.hypot(turned[:, 0] / theirs.rx, turned[:, 1] / theirs.ry)
    assert distance == pytest.approx(1.0, abs=1e-4)


def _turn(angle):
    cos, sin = np.cos(np.radians(angle)), np.sin(np.radians(angle))
    return np.array(((cos, -sin), (sin, cos)))


@pytest.mark.parametrize(
    "text",
    ["red", "#abc", "#a1b2c3", "rgb(10, 20, 30)", "rgb(10%, 50%, 100%)", "hsl(120, 100%, 25%)",
     "Tomato", "#11223380"],
)  # fmt: skip
def test_colours_agree(text):
    theirs = svgelements.Color(text)
    ours = parse_colour(text)
    channels = [int(ours[0][at : at + 2], 16) for at in (1, 3, 5)]
    # Halves are rounded up by browsers, down by the others.
    assert channels == pytest.approx([theirs.red, theirs.green, theirs.blue], abs=1)
    assert ours[1] == pytest.approx(theirs.alpha / 255, abs=0.003)


@pytest.mark.parametrize("text", ["bogus", "rgb(1,2)", "#12", "url(#a)", ""])
def test_what_is_no_colour(text):
    assert parse_colour(text) is None


@pytest.mark.parametrize(
    "text",
    ["translate(3)", "translate(3,-4) rotate(30)", "rotate(45 10 20)", "scale(2) skewX(20)",
     "matrix(1 2 3 4 5 6)scale(-1,3)", "skewY(10),translate(1e1 .5)"],
)  # fmt: skip
def test_transforms_agree(text):
    theirs = svgelements.Matrix(text)
    expected = [theirs.a, theirs.b, theirs.c, theirs.d, theirs.e, theirs.f]
    assert parse_transform_list(text, Units()) == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize(
    "text", ["rotate(", "rotate(1 2)", "matrix(1 2 3)", "moth(3)", "scale(1.)"]
)
def test_a_malformed_transform_is_none(text):
    assert parse_transform_list(text, Units()) is None


NOT_THEIRS = {
    "shades",  # the mask is ignored here, with a warning
    "faint", "too_many",  # the recipe's policies, told in findings
    "non_scaling", "origin", "dash_path_length", "media", "variables",  # the renderer has them not
    "geometry_properties", "font_units", "css_units",  # nor these
    "fill_box", "single_properties", "width_in_css", "arc",
    "css_circle", "css_inset", "css_polygon", "css_path",
    "attribute_selectors", "structural_selectors", "wide_keywords",  # nor all of these
    "tiny", "one_side",  # less than a pixel; width and height rounded to pixels
}  # fmt: skip
"""A browser draws all but the first three as the reader does (compare_render.py --by browser)."""

RENDERED = sorted(
    path
    for path in FIXTURES.rglob("*.svg")
    if path.parent.name not in {"left_out", "image", "text"} and path.stem not in NOT_THEIRS
)


@pytest.mark.parametrize("path", RENDERED, ids=lambda path: f"{path.parent.name}/{path.stem}")
def test_drawings_look_as_another_renderer_draws_them(path):
    """Marked or not, without soft edges."""
    flat = Flat()
    natural = flat.size(path, (0, 0))
    zoom = 500 / max(natural)
    theirs = flat.file(path, natural, zoom)
    artwork = read(path.read_bytes(), path.name, ReadingOptions()).artwork
    ours = flat.text(drawn(artwork, theirs.shape[::-1], zoom))
    assert agreement(ours, theirs).holds(0.985, strict=False)
