"""The recipe's words in the texts of a drawing: what they say, how wide they get, what is refused.

The fonts are our own: "fern" is 1.7 em wide, "fe" 0.9 em.
"""

import pytest

from preprocess.errors import UserError
from preprocess.model.options.fonts import Fonts
from preprocess.model.options.lettering import Lettering, TextFit
from tests.read.lettering import font_bytes
from tests.read.reading import read_sheet

NAME = '<text id="name" x="10" y="50" font-family="Fern Test" font-size="10">moth</text>'


@pytest.fixture
def fonts(tmp_path):
    (tmp_path / "fern.ttf").write_bytes(font_bytes())
    return Fonts(folder=str(tmp_path), installed=False)


def said(fonts, text, body=NAME, element="#name", **more):
    lettering = Lettering(element=element, text=text, **more)
    return read_sheet(body, fonts=fonts, texts=(lettering,))


def bounds(reading):
    return reading.artwork.shapes[0].geometry.bounds


def test_a_text_says_what_is_wanted(fonts):
    plain = read_sheet(NAME.replace("moth", "fern"), fonts=fonts)
    assert bounds(said(fonts, "fern")) == bounds(plain)


@pytest.mark.parametrize("inner", ["<tspan>moth</tspan>", " <tspan><tspan>moth</tspan></tspan> "])
def test_the_style_of_the_innermost_span_stays(fonts, inner):
    body = NAME.replace("moth", inner.replace("<tspan>", '<tspan font-size="20">'))
    left, top, right, bottom = bounds(said(fonts, "f", body))
    assert (right - left, bottom - top) == pytest.approx((4, 14))  # 200 x 700 units of 20 mm


@pytest.mark.parametrize(
    ("anchor", "left", "right"), [("start", 10, 20), ("middle", 5, 15), ("end", 0, 10)]
)
def test_a_text_that_is_too_wide_is_drawn_smaller_about_its_anchor(fonts, anchor, left, right):
    body = NAME.replace("<text", f'<text text-anchor="{anchor}"')
    reading = said(fonts, "fern", body, fit=TextFit(width=10.0, smallest=0.5))
    share = 10 / 17
    got = bounds(reading)
    # f begins 0.1 em after the anchor's left end, n ends 0.05 em before its right one
    assert got[0] == pytest.approx(left + share * 1.0, abs=2e-6)
    assert got[2] == pytest.approx(right - share * 0.5, abs=2e-6)
    assert (got[1], got[3]) == pytest.approx((50 - share * 7, 50), abs=2e-6)
    (note,) = (f for f in reading.findings if f.code == "text-shrunk")
    assert "to 59 % of its size" in note.message


def test_the_width_is_that_on_the_page(fonts):
    body = f'<g transform="scale(2)">{NAME}</g>'
    codes = {f.code for f in said(fonts, "fe", body, fit=TextFit(width=17.9)).findings}
    assert "text-shrunk" in codes
    codes = {f.code for f in said(fonts, "fe", body, fit=TextFit(width=18.0)).findings}
    assert "text-shrunk" not in codes


@pytest.mark.parametrize(("width", "stops"), [(8.5, False), (8.4, True)])
def test_what_does_not_fit_stops(fonts, width, stops):
    reading = said(fonts, "fern", fit=TextFit(width=width, smallest=0.5))
    found = {f.code: f for f in reading.findings}
    assert ("text-too-wide" in found) is stops
    if stops:
        assert found["text-too-wide"].severity == "stop"
        assert found["text-too-wide"].elements == ("name",)
        assert "17.00 mm, where 8.4 mm are free" in found["text-too-wide"].message


def test_values_are_never_markup(fonts):
    found = {f.code: f for f in said(fonts, "f<e/>&lt;").findings}
    assert "U+003C" in found["letter-missing"].message  # the font has no "<": it is a letter


@pytest.mark.parametrize(
    ("body", "element", "words"),
    [
        (NAME, "#gone", "matches nothing"),
        (NAME, "g[", "is no CSS selector"),
        ('<g id="name"><path d="M0 0h9v9z"/></g>', "#name", "is <g>, not a text"),
        (NAME.replace("moth", "<tspan>a</tspan><tspan>b</tspan>"), "#name", "holds 2 spans"),
        (NAME.replace("moth", "a<tspan>b</tspan>"), "#name", "holds 1 spans"),
    ],
)
def test_what_cannot_be_filled_in(fonts, body, element, words):
    with pytest.raises(UserError) as caught:
        said(fonts, "fern", body, element)
    assert words in str(caught.value)
    assert caught.value.complaints[0].remedy


def test_a_text_is_meant_once(fonts):
    both = (Lettering(element="#name", text="f"), Lettering(element="text", text="e"))
    with pytest.raises(UserError, match="is replaced by two entries"):
        read_sheet(NAME, fonts=fonts, texts=both)


def test_an_optional_text_may_be_missing(fonts):
    body = '<rect width="5" height="5"/>'
    assert len(said(fonts, "f", body, "#gone", optional=True).artwork.shapes) == 1


def test_a_text_on_a_path_cannot_be_fitted(fonts):
    path = '<path id="p" d="M0 50H90" fill="none"/>'
    body = path + NAME.replace("moth", '<textPath href="#p">moth</textPath>')
    assert len(said(fonts, "fern", body).artwork.shapes) == 1
    with pytest.raises(UserError, match="runs along a path"):
        said(fonts, "fern", body, fit=TextFit(width=5.0))
