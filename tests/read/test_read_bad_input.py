"""A file that is no SVG gives one clear sentence with place and remedy, never a traceback."""

import pytest
from reading import NS, codes, read_sheet, sheet

from preprocess.errors import UserError
from preprocess.model.artwork import Drawing
from preprocess.model.part import Part
from preprocess.model.wanted import Wanted
from preprocess.read.reader import read

BOMB = (
    '<!DOCTYPE svg [<!ENTITY a "aaaaaaaaaa">'
    + "".join(f'<!ENTITY {chr(98 + i)} "{f"&{chr(97 + i)};" * 10}">' for i in range(9))
    + f"]><svg {NS}><desc>&j;</desc></svg>"
)
OUTSIDE = (
    f'<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/passwd">]><svg {NS}><desc>&x;</desc></svg>'
)
DEEP = f"<svg {NS}>" + "<g>" * 10_000 + "</g>" * 10_000 + "</svg>"

BAD = {
    "empty": (b"", "the file is empty"),
    "blank": (b" \n ", "the file is empty"),
    "binary": (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", "no XML at all"),
    "words": (b"fern label", "no XML at all"),
    "cut_off": (sheet("<g><rect/>")[:-6], "cut off or damaged"),
    "mismatched": (f"<svg {NS}><g></svg>".encode(), "damaged"),
    "other_xml": (b"<html><body/></html>", "holds <html>"),
    "bomb": (BOMB.encode(), "entities that grow without limit"),
    "outside_entity": (OUTSIDE.encode(), "entities that grow without limit or reach out"),
    "deep": (DEEP.encode(), "nested more than 250 deep"),
    "no_width": (f'<svg {NS} width="0" height="10"/>'.encode(), "the page has no area"),
    "no_view_box": (f'<svg {NS} viewBox="0 0 0 10"/>'.encode(), "the page has no area"),
    "nothing_at_all": (f"<svg {NS}/>".encode(), "the page has no area"),
    "bad_encoding": (b'<?xml version="1.0" encoding="moth"?><svg/>', ""),
}


@pytest.mark.parametrize("name", BAD)
def test_no_svg(name):
    data, words = BAD[name]
    with pytest.raises(UserError) as caught:
        read(data, "fern.svg", Wanted())
    (complaint,) = caught.value.complaints
    assert words in complaint.found
    assert complaint.remedy
    assert complaint.place.file == "fern.svg"
    assert "\n" not in str(complaint)


def test_damage_is_placed():
    with pytest.raises(UserError) as caught:
        read(b"<svg>\n  <g></svg>", "fern.svg", Wanted())
    assert caught.value.complaints[0].place.line == 2


def test_internal_entities_are_read():
    head = '<!DOCTYPE svg [<!ENTITY ns "http://www.w3.org/2000/svg"><!ENTITY w "20">]>'
    data = f'{head}<svg xmlns="&ns;" width="9mm" height="9mm" viewBox="0 0 90 90">'
    data += '<rect width="&w;" height="10"/></svg>'
    (shape,) = read(data.encode(), "fern.svg", Wanted()).artwork.shapes
    assert shape.geometry.area == pytest.approx(2)


def test_a_drawing_as_deep_as_allowed_is_read():
    reading = read_sheet("<g>" * 200 + '<rect width="1" height="1"/>' + "</g>" * 200)
    assert len(reading.artwork.shapes) == 1


def test_uses_that_multiply_stop_at_a_cap():
    """Ten levels of ten uses would be 10^10 squares."""
    levels = "".join(f'<g id="l{i + 1}">' + f'<use href="#l{i}"/>' * 10 + "</g>" for i in range(10))
    body = f'<defs><rect id="l0" width="1" height="1"/>{levels}</defs><use href="#l10"/>'
    from preprocess.read import scene

    kept, scene.MOST_COPIES = scene.MOST_COPIES, 500
    try:
        reading = read_sheet(body)
    finally:
        scene.MOST_COPIES = kept
    assert "too-many-copies" in codes(reading)
    assert 0 < len(reading.artwork.shapes) <= 500


@pytest.mark.parametrize(
    "href", ["other.svg#leaf", "http://example.org/a.svg#b", "file:///etc/passwd"]
)
def test_other_files_are_never_opened(href):
    assert "outside-reference" in codes(read_sheet(f'<use id="u" href="{href}"/>'))


def test_findings_name_element_and_line():
    reading = read_sheet('<g id="a">\n<path d="M0 0L5 x"/>\n<text>fern</text></g>')
    broken = next(f for f in reading.findings if f.code == "broken-path")
    assert broken.elements == ("svg/g[1]/path[1]",)
    assert broken.line == 2
    assert "svg/g[1]/path[1] (line 2" in broken.message
    assert broken.remedy


def test_many_of_one_kind_are_one_finding():
    reading = read_sheet("".join(f'<text id="t{i}">x</text>' for i in range(50)))
    (finding,) = (f for f in reading.findings if f.code == "text-left-out")
    assert len(finding.elements) == 50
    assert "and 42 more" in finding.message


@pytest.mark.parametrize("selector", ["#gone", ".gone", "gone"])
def test_a_part_that_is_not_there(selector):
    with pytest.raises(UserError, match="quote it: '#id'"):
        read_sheet('<rect width="5" height="5"/>', parts=(Part(outline=selector),))


def test_a_part_without_area():
    with pytest.raises(UserError, match="encloses no area"):
        read_sheet('<path id="a" d="M0 0H50"/>', parts=(Part(outline="#a"),))


def test_a_selector_that_is_none():
    with pytest.raises(UserError, match="no CSS selector"):
        read_sheet('<rect width="5" height="5"/>', keep_off=("##",))


def test_every_bad_selector_is_named_at_once():
    with pytest.raises(UserError) as caught:
        read_sheet("<g/>", parts=(Part(outline="#a"),), keep_off=("#b", "#c"))
    assert len(caught.value.complaints) == 3


def test_nothing_to_mark_is_left_to_the_checks():
    assert read_sheet("", drawing=Drawing()).artwork.shapes == ()


@pytest.mark.parametrize(
    "value",
    [
        'x="moth"', 'y="1e400"', 'y="NaN"', 'transform="rotate("', 'transform="scale(0)"',
        'style="fill:;;}{"', 'stroke-dasharray="-1 5"', 'stroke="url(" stroke-width="1e999"',
        'clip-path="url(#gone)"', 'mask="url(#gone)"', 'fill="url(#gone) moth"', 'rx="-3"',
        'transform="translate(1e308) scale(1e308)"', 'style="--a:var(--a);fill:var(--a)"',
        'stroke-dasharray="1e-9" stroke="red"', 'font-size="-2em" stroke-width="1em"',
    ],
)  # fmt: skip
def test_odd_values_never_crash(value):
    reading = read_sheet(
        f'<rect width="10" height="10" {value}/><rect x="50" width="9" height="9"/>'
    )
    assert reading.artwork.shapes[-1].geometry.bounds == pytest.approx((50, 0, 59, 9))
